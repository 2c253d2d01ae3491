"""What the server answers about sheets: files, paper, drafts, tables; and whom it turns away."""

from __future__ import annotations

import json
from typing import Any

import pytest

from review.exchange.sheets.preview import demand_sheet, preview
from review.exchange.sheets.spreadsheet import read_tables
from review.store.repository import reading
from tests.exchange.sheet_shapes import SHAPES
from tests.ui.conftest import Site

SHAPE = next(shape for shape in SHAPES if shape.file == "sub-items.xlsx")


def post(site: Site, path: str, said: Any, code: str = "I-02", **headers: str) -> Any:
    """Send a JSON object as somebody."""
    return site.ask("POST", f"{path}?as={code}", json.dumps(said).encode(), **headers)


def look(site: Site, said: Any, content: bytes) -> Any:
    """Ask what a table makes."""
    return site.ask("POST", "/api/sheets/look?name=sub-items.xlsx", json.dumps(said).encode() + b"\n" + content)


def test_a_table_is_looked_through_then_stored_then_exported(site: Site) -> None:
    """Nothing is there before it is stored; what is exported is what was stored."""
    told = look(site, {"id": "sub_items", "kinds": {"10": "skip"}}, SHAPE.content()).said
    assert (told["steps"], told["faults"], told["title"]) == (3, [], "sub-items")
    assert site.ask("GET", "/api/sheet/sub_items").status == 404
    stored = post(site, "/api/sheets/store", {"values": told["values"], "based_on": None})
    assert (stored.status, stored.said) == (200, {"id": "sub_items", "version": 1})
    file = site.ask("GET", "/api/sheet/sub_items/file/xlsx")
    assert "sub_items_v1.xlsx" in file.headers["content-disposition"]
    (grid,) = read_tables("x.xlsx", file.body)
    with reading(site.home) as repo:
        assert demand_sheet(preview(grid, "x.xlsx"), "x.xlsx") == repo.checklist("sub_items")
    assert site.ask("GET", "/api/sheet/sub_items/file/exe").status == 404


def test_faults_come_with_their_places(site: Site) -> None:
    """A draft with faults is not stored; each fault has its place in words and the way to it."""
    values = site.ask("GET", "/api/sheet/balance_only").said["values"]
    values["section"][0]["step"][1]["caution"] = ""
    refused = post(site, "/api/sheets/store", {"values": values, "based_on": 1})
    assert refused.status == 422
    (fault,) = refused.said["faults"]
    assert fault["where"] == "Preparation, Place made ready"
    assert fault["way"][:4] == ["section", 0, "step", 1]
    faulty = look(site, {}, b"Step,Points\nLook,two\n").said
    assert [one["where"] for one in faulty["faults"]] == ["row 2, column B"]


@pytest.mark.parametrize("said", [[], {"values": 3}, {"values": {}, "based_on": "x"}], ids=str)
def test_what_is_no_draft_is_refused(site: Site, said: Any) -> None:
    """One sentence, and nothing is stored."""
    answer = post(site, "/api/sheets/store", said)
    assert answer.status == 422
    assert "expected" in answer.said["message"]


def test_copy_and_retire(site: Site) -> None:
    """A copy is a sheet of its own; a retired one is told as such and comes back; a peer may not retire."""
    assert post(site, "/api/sheets/copy", {"id": "balance_only", "new_id": "evening"}).said["version"] == 1
    assert post(site, "/api/sheets/retire", {"id": "evening"}, "L-12").status == 403
    assert post(site, "/api/sheets/retire", {"id": "evening"}).status == 200
    rows = {row["id"]: row for row in site.ask("GET", "/api/sheets").said["sheets"]}
    assert rows["evening"]["retired"] is not None
    assert rows["balance_only"]["retired"] is None
    post(site, "/api/sheets/retire", {"id": "evening", "back": True})
    assert site.ask("GET", "/api/sheet/evening").said["retired"] is None


def test_other_sites_cannot_write(site: Site) -> None:
    """A request that a page of another site made is turned away before it is read."""
    answer = post(site, "/api/sheets/retire", {"id": "balance_only"}, Origin="http://elsewhere.example")
    assert answer.status == 403
    assert site.ask("GET", "/api/sheet/balance_only").said["retired"] is None


def test_paper_is_a_page_of_its_own(site: Site) -> None:
    """Blank by the sheet, filled by the attempt and the rater; who graded nothing has none."""
    for address in ("/api/sheet/balance_only/paper?version=1", f"/api/paper/{site.recording.id}?as=L-07"):
        answer = site.ask("GET", address)
        assert answer.headers["content-type"] == "text/html; charset=utf-8"
        assert answer.body.startswith(b"<!doctype html>")
    assert site.ask("GET", f"/api/paper/{site.recording.id}?as=L-07&by=L-99").status == 404
    with reading(site.home) as repo:
        assert "sheet for paper" in {one.what for one in repo.looks().of(site.recording.id)}
    for none in ("one", "%C2%B2", "9" * 20):
        assert site.ask("GET", f"/api/sheet/balance_only/paper?version={none}").status == 422
