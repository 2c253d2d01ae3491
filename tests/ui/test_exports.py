"""Files of an attempt through the server, and from the Recordings page."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from review.actions import checklists, comments, marks, people, recordings
from review.domain.model import Recording, Role
from review.report.exports import EXPORTS
from review.store.home import find_home
from review.store.repository import repository
from tests.e2e.rules import broken
from tests.screens import serving
from tests.ui.conftest import Site


@pytest.mark.parametrize("kind", [kind for kind in EXPORTS if kind != "tracks"])
def test_every_file_comes_with_its_name_and_type(site: Site, kind: str) -> None:
    """Each kind is answered with its media type and a plain file name, kept by no cache; one is shown, not stored."""
    answer = site.ask("GET", f"/api/export/{site.recording.id}/{kind}?as=L-07")
    of = EXPORTS[kind]
    assert (answer.status, answer.headers["content-type"]) == (200, of.media_type)
    place = "inline" if kind == "print" else "attachment"
    assert answer.headers["content-disposition"] == f'{place}; filename="tiny-attempt-1{of.ending}"'
    assert answer.headers["cache-control"] == "no-store"


def test_links_of_the_report_lead_to_this_server(site: Site) -> None:
    """The address that the request came by is where the links begin."""
    page = site.ask("GET", f"/api/export/{site.recording.id}/print?as=L-07").body.decode()
    assert f'href="{site.address}/review?recording={site.recording.id}#t=0.000"' in page


@pytest.mark.parametrize(
    ("path", "status", "words"),
    [
        ("{}/tracks?as=L-07", 404, "was not analysed"),
        ("{}/annotation?as=L-07", 404, "Did you mean annotations"),
        ("nowhere/marks?as=L-07", 404, "nowhere"),
        ("{}/marks?as=L-99", 404, "L-99"),
    ],
    ids=["not analysed", "no such kind", "no such recording", "nobody"],
)
def test_what_cannot_be_made_is_told(site: Site, path: str, status: int, words: str) -> None:
    """The answer is one sentence in JSON."""
    answer = site.ask("GET", f"/api/export/{path.format(site.recording.id)}")
    assert (answer.status, words in answer.said["message"]) == (status, True)


def test_a_file_is_read_in_for_the_acting_person(site: Site) -> None:
    """What came out goes in again and is here already; a broken file is 422 with its fault; other sites are 403."""
    with repository(site.home) as repo:
        said = comments.write(repo, repo.person("L-07"), site.recording, 0.5, None, "Taken out.")
    out = site.ask("GET", f"/api/export/{site.recording.id}/annotations?as=L-07").body
    address = f"/api/import/{site.recording.id}?as=L-07&name=my%20file.jsonld"
    assert "1 comment here already." in site.ask("POST", address, out).said["told"]
    broken = site.ask("POST", address, b"{}")
    assert (broken.status, broken.said["message"].startswith("my file.jsonld: 1 fault")) == (422, True)
    assert site.ask("POST", address, out, Origin="http://evil.example").status == 403
    with repository(site.home) as repo:
        comments.remove(repo, repo.person("L-07"), said.id)


def test_kinds_are_told(site: Site) -> None:
    """The page asks which files there are and gets all of them, in words."""
    told = json.loads(site.ask("GET", "/api/exports").body)
    assert [one["kind"] for one in told] == list(EXPORTS)
    assert [one["kind"] for one in told if one["shown"]] == ["print"]


@pytest.fixture
def marked(tmp_path: Path, tiny_film: Path) -> Any:
    """Serve a home in which a learner marked a step; the value is the address and the recording."""
    home = find_home(tmp_path / "home")
    with repository(home) as repo:
        checklists.install_shipped(repo)
        learner = people.ensure(repo, "L-07", Role.LEARNER)
    recording = recordings.add(home, learner, tiny_film, checklist_id="balance_only", name="Tiny attempt")
    with repository(home) as repo:
        marks.place(repo, learner, recording, "eyes_open", None, 0.2, 1.2)
    with serving(home) as address:
        yield address, recording


@pytest.mark.browser
def test_files_are_taken_from_the_page(chromium: Any, marked: tuple[str, Recording], tmp_path: Path) -> None:
    """Unfolded, a row lists its files: one is stored, one cannot be made and says why, one is read in."""
    address, recording = marked
    page = chromium.new_page(viewport={"width": 1366, "height": 768})
    page.goto(f"{address}/?as=L-07")
    files = page.get_by_test_id("files").first
    files.locator("summary").focus()
    page.keyboard.press("Enter")
    said = page.get_by_test_id("files-said").first
    with page.expect_download() as download:
        files.get_by_role("button", name="Marks, comments and grades, WebVTT").click()
    stored = tmp_path / download.value.suggested_filename
    download.value.save_as(stored)
    assert stored.name == "tiny-attempt-1-marks.vtt"
    assert stored.read_text("utf-8").startswith("WEBVTT\n\nurn:uuid:")
    said.get_by_text("tiny-attempt-1-marks.vtt is in your downloads.").wait_for()
    files.get_by_role("button", name="Landmark tracks, Parquet").click()
    said.get_by_text("was not analysed").wait_for()
    files.locator("input[type=file][accept*=csv]").set_input_files(stored)
    said.get_by_text("1 mark here already.").wait_for()
    assert files.get_attribute("open") is not None
    assert broken(page) == []
    page.goto(f"{address}/api/export/{recording.id}/print?as=L-07")
    page.get_by_role("heading", name="The sheet at a glance").wait_for()
    assert page.locator("img").count() == 3
    assert broken(page) == []
    page.close()
