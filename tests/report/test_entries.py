"""Entries as the Review page and the exports show them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from review.actions import entries
from review.actions.uncovering import uncover
from review.domain.model import Recording
from review.report import attempt, values
from review.report.entries import entries_of, preview
from review.store.home import Home, find_home
from review.store.repository import repository
from tests.store import made


@pytest.fixture(name="kept")
def _kept(tmp_path: Path) -> tuple[Home, Recording]:
    """Make a home in which the learner and the peer have entered a grade for the left knee."""
    home = find_home(tmp_path / "home")
    with repository(home) as repo:
        made.fill(repo)
        entries.enter(repo, made.LEARNER, made.recording(), "knee", "left", "2+ on NINDS")
        entries.enter(repo, made.PEER, made.recording(), "knee", "left", "3 on 0 to 4+")
    return home, made.recording()


def test_the_board_has_a_field_where_the_sheet_asks_and_everybodys_entries(kept: tuple[Home, Recording]) -> None:
    """Rows tell what their field takes; entries come in words, each with whose it is, others' once uncovered."""
    home, recording = kept
    assert [one["person"] for one in attempt.board(home, recording.id, made.LEARNER)["entries"]] == ["L-07"]
    with repository(home) as repo:
        uncover(repo, made.LEARNER, recording, "knee", "left")
    board = attempt.board(home, recording.id, made.LEARNER)
    fields = {row["key"]: row["entry"] for section in board["sections"] for row in section["rows"]}
    assert fields["romberg|"] is None
    assert (fields["knee|left"]["kind"], fields["knee|left"]["scales"]) == ("reflex", ["NINDS", "0 to 4+", "0 to 5+"])
    assert [(one["words"], one["person"], one["mine"]) for one in board["entries"]] == [
        ("2 on NINDS: lower half of the normal range", "L-07", True),
        ("3 on 0 to 4+: brisk", "P-03", False),
    ]
    json.dumps(board, allow_nan=False)


def test_the_json_of_values_holds_the_entries(kept: tuple[Home, Recording]) -> None:
    """What the screen shows, the export shows too: text, words, fields, place and person."""
    home, recording = kept
    told = values.as_json(recording, (), entries_of(home, made.LEARNER, recording))["entries"]
    assert [(one["step"], one["side"], one["text"], one["fields"]["scale"]) for one in told] == [
        ("knee", "left", "2+ on NINDS", "NINDS"),
        ("knee", "left", "3 on 0 to 4+", "0 to 4+"),
    ]


def test_a_preview_stores_nothing(kept: tuple[Home, Recording]) -> None:
    """Asking what a text would be leaves the entries as they are."""
    home, recording = kept
    before = entries_of(home, made.LEARNER, recording)
    assert preview(home, made.LEARNER, recording.id, "knee", "right", "0 on NINDS")["faults"] == []
    assert len(preview(home, made.LEARNER, recording.id, "knee", "right", "9")["faults"]) == 2
    assert entries_of(home, made.LEARNER, recording) == before
