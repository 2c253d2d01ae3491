"""What the Review page is told: whose seconds count, values in words, nothing bare, nothing before there are tracks."""

from __future__ import annotations

import json
import struct
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from review.actions import checklists, comments, grades, marks, people
from review.actions.uncovering import uncover
from review.domain.model import Person, Recording, Role, Shape
from review.measures import measure
from review.report import attempt, recordings, tracks, values
from review.report.film_words import film_words
from review.report.tracks import trace_bytes, trace_of
from review.store.home import Home, find_home
from review.store.repository import Job, repository
from review.store.trackstore import TrackStore
from tests.store.made import WHEN, recording
from tests.synthetic import clock, standing, with_picture

APART, TOGETHER = 1.0, 0.3


@pytest.fixture
def reviewed(tmp_path: Path) -> tuple[Home, Recording, Person, Person]:
    """Make a home with one recording marked by a learner and an instructor at different seconds."""
    home = find_home(tmp_path / "home")
    with repository(home) as repo:
        checklists.install_shipped(repo)
        learner, instructor = (
            people.ensure(repo, c, r) for c, r in (("L-07", Role.LEARNER), ("I-02", Role.INSTRUCTOR))
        )
        film = recording(checklist_id="balance_only", checklist_version=1, added_by=learner.id, duration_s=20.0)
        repo.add_recording(film)
        marks.place(repo, learner, film, "position_guard", None, 1.0, 8.0)
        marks.place(repo, instructor, film, "position_guard", None, 11.0, 19.0)
        marks.place(repo, learner, film, "eyes_open", None, 12.0, 12.0)
        grades.give(repo, learner, film, "position_guard", None, "yes", confidence=2)
        uncover(repo, instructor, film)
        note = comments.write(repo, instructor, film, 4.0, None, "Stand nearer.", "position_guard")
        comments.reply(repo, learner, note.id, "I will.")
    return home, film, learner, instructor


def look(home: Home, film: Recording, stance: float = TOGETHER) -> None:
    """Keep tracks of a person whose feet stand so for ten seconds, then apart."""
    times = clock(20.0)
    tracks = with_picture(standing(times, stance=np.where(times < 10, stance, APART)))
    store = TrackStore(home, film.id)
    store.create(tracks)
    store.write(0, tracks, ["pose", "picture"])
    store.mark_done("all")


def row(board: dict[str, Any], key: str) -> dict[str, Any]:
    """Return a row of a board."""
    return next(one for section in board["sections"] for one in section["rows"] if one["key"] == key)


def test_everybody_sees_their_own_seconds(reviewed: tuple[Home, Recording, Person, Person]) -> None:
    """Values rest on one's own mark; they follow the person, not the last mark set."""
    home, film, learner, instructor = reviewed
    look(home, film)
    seen = [row(attempt.board(home, film.id, one), "position_guard|") for one in (learner, instructor)]
    assert [one["values_from"] for one in seen] == ["L-07", "I-02"]
    together, apart = (one["values"][0] for one in seen)
    assert together["low"] <= TOGETHER <= together["high"]
    assert apart["low"] <= APART <= apart["high"]
    assert (together["verdict"], apart["verdict"]) == ("within", "outside")
    assert "95 %" in together["words"]
    assert "expected at most 0.45" in together["words"]


def test_nothing_is_said_before_anything_was_looked_at(reviewed: tuple[Home, Recording, Person, Person]) -> None:
    """Without tracks there are marks, grades and comments, and no value, curve or fault of the film."""
    home, film, learner, _ = reviewed
    board = attempt.board(home, film.id, learner)
    assert (row(board, "position_guard|")["values"], board["curves"]) == ([], [])
    assert film_words(home, learner, film.id, "position_guard", None) == {"step": [], "film": []}
    assert [mark["mine"] for mark in board["marks"] if mark["step"] == "position_guard"] == [True, False]
    assert [(one["level"], one["confidence"], one["mine"]) for one in board["grades"]] == [("yes", 2, True)]
    note, reply = board["comments"]
    assert reply["reply_to"] == note["id"]


def test_values_follow_tracks_that_are_laid_out_anew(reviewed: tuple[Home, Recording, Person, Person]) -> None:
    """Nothing remembered of a film outlives its tracks: erased and looked at again, it reads as it is then."""
    home, film, learner, _ = reviewed
    look(home, film)
    assert row(attempt.board(home, film.id, learner), "position_guard|")["values"][0]["verdict"] == "within"
    TrackStore(home, film.id).erase()
    assert row(attempt.board(home, film.id, learner), "position_guard|")["values"] == []
    look(home, film, stance=APART)
    assert row(attempt.board(home, film.id, learner), "position_guard|")["values"][0]["verdict"] == "outside"


def test_open_mark_has_no_values(reviewed: tuple[Home, Recording, Person, Person]) -> None:
    """A mark whose end is not set yet is shown, and nothing is measured over it."""
    home, film, learner, _ = reviewed
    look(home, film)
    assert row(attempt.board(home, film.id, learner), "eyes_open|")["values"] == []


def test_every_row_has_its_caution_and_every_value_interval_or_reason(
    reviewed: tuple[Home, Recording, Person, Person],
) -> None:
    """The page is never told a bare number, and each step's caution goes with it."""
    home, film, learner, _ = reviewed
    look(home, film)
    with repository(home) as repo:
        marks.place(repo, learner, film, "eyes_closed", None, 2.0, 9.0)
        uncover(repo, learner, film)
    board = attempt.board(home, film.id, learner)
    rows = [one for section in board["sections"] for one in section["rows"]]
    assert all(one["caution"] for one in rows)
    shown = [value for one in rows for value in one["values"]]
    assert {value["measure"] for value in shown} == {"stance_width", "hold_time", "postural_sway", "sway_velocity"}
    assert all(value["reasons"] if value["value"] is None else value["low"] <= value["high"] for value in shown)
    json.dumps(board, allow_nan=False)


def test_what_is_covered_is_not_told(reviewed: tuple[Home, Recording, Person, Person]) -> None:
    """Before one's own grade and confidence no value, grade, or word of others about the step leaves the server."""
    home, film, _, instructor = reviewed
    look(home, film)
    with repository(home) as repo:
        peer = people.ensure(repo, "L-12", Role.PEER)
        shape = Shape("point", 0.5, 0.5)
        comments.write(repo, instructor, film, 5.0, None, "Guard lost.", "position_guard", shape=shape)
        comments.write(repo, instructor, film, 6.0, None, "Good light.")
    blind = attempt.board(home, film.id, peer)
    step = row(blind, "position_guard|")
    assert (step["covered"], step["values"]) == (True, [])
    assert step["covers"] == {"values": True, "grades": 1, "entries": 0}
    assert (row(blind, "eyes_open|")["covers"]["values"], blind["grades"]) == (False, [])
    said = [(one["text"], one["covered"], one["shape"]) for one in blind["comments"]]
    assert said == [("", True, None)] * 3 + [("Good light.", False, None)]
    with repository(home) as repo:
        grades.give(repo, peer, film, "position_guard", None, "not_yet")
    assert row(attempt.board(home, film.id, peer), "position_guard|")["covered"]
    with repository(home) as repo:
        grades.give(repo, peer, film, "position_guard", None, "not_yet", confidence=1)
        grades.give(repo, peer, film, "position_guard", None, "yes", confidence=1)
    seen = attempt.board(home, film.id, peer)
    assert row(seen, "position_guard|")["values"] != []
    assert sorted(one["person"] for one in seen["grades"]) == ["L-07", "L-12"]
    assert [one["text"] for one in seen["comments"]] == ["Stand nearer.", "I will.", "Guard lost.", "Good light."]
    own = next(one for one in seen["grades"] if one["mine"])
    told = [("not_yet", "before"), ("not_yet", "before"), ("yes", "after")]
    assert [(one["level"], one["when"]) for one in own["history"]] == told


def test_of_a_repeated_step_the_last_time_counts(reviewed: tuple[Home, Recording, Person, Person]) -> None:
    """Two marks of one step by one person are both there; values rest on the later one, and the row says so."""
    home, film, learner, _ = reviewed
    look(home, film)
    with repository(home) as repo:
        marks.place(repo, learner, film, "position_guard", None, 12.0, 18.0)
    step = row(attempt.board(home, film.id, learner), "position_guard|")
    assert step["notes"] == ["Repeated: marked 2 times, values of the last"]
    assert step["values"][0]["verdict"] == "outside"
    assert all(12.0 <= time <= 18.0 for time in step["stills"])
    assert step["spark"]["points"] == pytest.approx([APART] * len(step["spark"]["points"]), abs=0.05)


def test_version_rises_with_whatever_is_said(reviewed: tuple[Home, Recording, Person, Person]) -> None:
    """Another page finds out by one short text that a comment was written, settled or removed."""
    home, film, learner, instructor = reviewed
    seen = [attempt.version(home, film.id, learner)]
    with repository(home) as repo:
        note = comments.write(repo, instructor, film, 4.0, None, "Look.")
    seen.append(attempt.version(home, film.id, learner))
    with repository(home) as repo:
        comments.resolve(repo, learner, note.id, True)
    seen.append(attempt.version(home, film.id, learner))
    with repository(home) as repo:
        comments.remove(repo, instructor, note.id)
    seen.append(attempt.version(home, film.id, learner))
    assert len(set(seen)) == 4
    assert attempt.board(home, film.id, learner)["version"] == seen[-1]


def test_earlier_attempts_of_the_learner_are_offered(reviewed: tuple[Home, Recording, Person, Person]) -> None:
    """Of an earlier attempt at the same sheet each marked step is told once, the learner's own mark before others'."""
    home, film, learner, instructor = reviewed
    with repository(home) as repo:
        later = recording("b1", checklist_id="balance_only", checklist_version=1, added_by=learner.id, attempt=2)
        repo.add_recording(replace(later, added_at=WHEN + timedelta(days=7)))
        repo.add_recording(recording("c1", checklist_id="balance_only", checklist_version=1, added_by=instructor.id))
        marks.place(repo, learner, repo.recording("b1"), "position_guard", None, 3.0, 4.0)
    offered = attempt.board(home, "b1", instructor)["own_attempts"]
    assert [(one["recording"], one["step"], one["onset_s"], one["offset_s"]) for one in offered] == [
        (film.id, "position_guard", 1.0, 8.0)
    ]
    assert attempt.board(home, film.id, instructor)["own_attempts"] == []


def test_curves_are_named_before_they_are_computed(reviewed: tuple[Home, Recording, Person, Person]) -> None:
    """Of each measure of the sheet the board tells the address of its curve; it does not work any out for that."""
    home, film, learner, _ = reviewed
    look(home, film)
    tracks._traced.cache_clear()
    curves = attempt.board(home, film.id, learner)["curves"]
    assert tracks._traced.cache_info().currsize == 0
    assert f"/api/trace/{film.id}/stance_width" in [curve["url"] for curve in curves]


def test_curve_in_bytes(reviewed: tuple[Home, Recording, Person, Person]) -> None:
    """A packed trace unpacks to the same times, values and reasons."""
    home, film, learner, _ = reviewed
    look(home, film)
    trace = trace_of(home, learner, film, "stance_width")
    assert trace is not None
    packed = trace_bytes(measure("stance_width"), trace)
    size = struct.unpack_from("<I", packed)[0]
    head = json.loads(packed[4 : 4 + size])
    assert (4 + size) % 8 == 0
    count = head["samples"]
    times = np.frombuffer(packed, "<f8", count, 4 + size)
    numbers = np.frombuffer(packed, "<f4", count, 4 + size + 8 * count)
    np.testing.assert_array_equal(times, trace["time"].values)
    np.testing.assert_allclose(numbers, trace.values, rtol=1e-6)
    assert len(packed) == 4 + size + (8 + 4 + 1) * count


def test_values_of_marks_and_of_the_whole_film(reviewed: tuple[Home, Recording, Person, Person]) -> None:
    """With marks the values are those of the steps; without any, those of the whole film."""
    home, film, learner, instructor = reviewed
    look(home, film)
    assert {value.step_id for value in values.values_of(home, learner, film)} == {"position_guard"}
    with repository(home) as repo:
        for mark in repo.marks(film.id):
            marks.remove(repo, learner if mark.person_id == learner.id else instructor, mark.id)
    whole = values.values_of(home, learner, film)
    assert {value.step_id for value in whole} == {None}
    assert {"stance_width", "capture_light"} <= {value.measure for value in whole}


@pytest.mark.parametrize(
    ("state", "pid", "shown"),
    [("running", 2**22 + 1, "stopped"), ("done", None, "done"), ("failed", None, "failed")],
    ids=["its process is gone", "done", "failed"],
)
def test_list_says_how_far_the_analysis_is(
    reviewed: tuple[Home, Recording, Person, Person], state: Any, pid: int | None, shown: str
) -> None:
    """An analysis whose process is gone is not called running."""
    home, film, learner, _ = reviewed
    with repository(home) as repo:
        repo.put_job(Job(film.id, state, 3, 9, "", WHEN, pid))
    (only,) = recordings.rows(home, learner)
    assert only["analysis"]["state"] == shown
    assert only["waiting"] == ["4 of 6 steps not marked", "1 marked step not graded"]
