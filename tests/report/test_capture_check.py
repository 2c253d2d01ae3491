"""Which steps the faults of a film spoil, and how that is said."""

from __future__ import annotations

import threading
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr

from review.actions import checklists, marks, people
from review.domain.checklist import Checklist
from review.domain.model import Interval, Mark, Person, Recording, Role
from review.domain.tracks import FOUND, NOT_FOUND, UNSURE
from review.measures.capture_words import FAULT_KINDS
from review.report import capture_check
from review.report.spoilt import CheckedFault, checked
from review.store.home import Home, find_home
from review.store.repository import Job, reading, repository
from review.store.trackstore import TrackStore
from tests.store.made import WHEN, recording
from tests.synthetic import clock, standing, with_picture
from tests.synthetic_face import Face, face_tracks

MINUTE = clock(60.0)


@pytest.fixture(scope="module")
def sheets(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Checklist]:
    """Return the shipped sheets by id."""
    with repository(find_home(tmp_path_factory.mktemp("sheets") / "home")) as repo:
        checklists.install_shipped(repo)
        return {sheet.id: sheet for sheet in repo.checklists()}


def film(face_px: float | np.ndarray = 300.0, **picture: object) -> xr.Dataset:
    """Draw a minute of a person who stands with feet together, whole in the picture, with a face so wide."""
    tracks = face_tracks(MINUTE, Face(width_px=face_px))
    tracks.attrs.update(width_px=1280, height_px=720)
    body = standing(MINUTE, stance=0.3)
    for name in ("pose_state", "pose_xy", "pose_visibility", "pose_world"):
        tracks[name] = body[name]
    tracks["sound_state"].values[:] = FOUND
    for name, level in (("level", -20.0), ("clipped", 0.0), ("hum", 0.05)):
        tracks[f"sound_{name}"].values[:] = level
    return with_picture(tracks, **picture)


def mark(step: str, onset_s: float, offset_s: float) -> Mark:
    """Say where a step lies."""
    return Mark(f"m-{step}", "r", step, None, Interval(onset_s, offset_s), "p", datetime.now(UTC))


def spoilt(fault: CheckedFault, how: str) -> list[str]:
    """Return the steps of which a fault spoils this."""
    return [step for found, step in fault.spoils if found == how]


def test_a_good_film_has_nothing_to_do_better(sheets: dict[str, Checklist]) -> None:
    """A whole body, a large face, light, a still camera and sound: no fault, marked or not."""
    assert checked(film(), sheets["neuro_screening"]) == ()
    assert checked(film(), sheets["balance_only"], [mark("eyes_open", 5.0, 35.0)]) == ()


def test_each_measure_says_how_large_a_face_it_needs(sheets: dict[str, Checklist]) -> None:
    """A face 100 px wide is enough for the lids and too small for gaze: the step on gaze alone is spoilt."""
    (fault,) = checked(film(face_px=100.0), sheets["neuro_screening"])
    assert (fault.kind, fault.holds) == ("face_small", "filmed so")
    assert spoilt(fault, "measured") == ["cn3_4_6_eye_movements"]


def test_a_far_too_small_face_spoils_all_that_is_done_on_the_face(sheets: dict[str, Checklist]) -> None:
    """At 25 px neither gaze nor lids are measured, and no step on the face can be seen well."""
    (fault,) = checked(film(face_px=25.0), sheets["neuro_screening"])
    assert {"cn3_4_6_eye_movements", "cn7_eye_closing", "cn1_smell"} <= set(spoilt(fault, "measured"))
    faces = [step.id for step in sheets["neuro_screening"].steps() if "face" in step.view]
    assert spoilt(fault, "seen") == faces


def test_close_ups_and_whole_bodies_may_take_turns(sheets: dict[str, Checklist]) -> None:
    """A face that is large for a third of the film is no fault of a film whose steps nobody marked yet."""
    taking_turns = film(face_px=np.where(MINUTE < 20, 300.0, 25.0))
    assert checked(taking_turns, sheets["neuro_screening"]) == ()
    (fault,) = checked(taking_turns, sheets["neuro_screening"], [mark("cn3_4_6_eye_movements", 25.0, 40.0)])
    assert (fault.kind, fault.holds, spoilt(fault, "measured")) == ("face_small", "always", ["cn3_4_6_eye_movements"])
    assert checked(taking_turns, sheets["neuro_screening"], [mark("cn3_4_6_eye_movements", 3.0, 18.0)]) == ()


@pytest.mark.parametrize(
    ("onset_s", "spoils"),
    [pytest.param(5.0, ["eyes_open"], id="in the step"), pytest.param(40.0, [], id="after the step")],
)
def test_a_moved_camera_spoils_the_sway_of_that_moment(
    sheets: dict[str, Checklist], onset_s: float, spoils: list[str]
) -> None:
    """The fault is told either way; the step is spoilt only if the camera moved in its seconds."""
    panned = film(shift_px=lambda times: 30 * np.clip(times - onset_s, 0, 5))
    (fault,) = checked(panned, sheets["balance_only"], [mark("eyes_open", 2.0, 34.0)])
    assert fault.kind == "camera_moved"
    assert spoilt(fault, "measured") == spoils
    assert (fault.where[0].onset_s, fault.where[0].offset_s) == pytest.approx((onset_s, onset_s + 5), abs=0.1)


def test_what_shows_in_a_part_only_spoils_what_was_done_then(sheets: dict[str, Checklist]) -> None:
    """Fifteen dark seconds in a minute, no step marked: it holds for what was done then."""
    tracks = film()
    tracks["brightness"].values[MINUTE > 45] = 0.05
    (fault,) = checked(tracks, sheets["balance_only"])
    assert (fault.kind, fault.holds) == ("too_dark", "done then")
    tracks["brightness"].values[:] = 0.05
    (fault,) = checked(tracks, sheets["balance_only"])
    assert (fault.kind, fault.holds) == ("too_dark", "always")


def test_clipped_sound_spoils_the_findings_said_in_it(sheets: dict[str, Checklist]) -> None:
    """Two steps are marked; the one in whose seconds the sound is clipped is hard to hear, the other is not."""
    tracks = film()
    tracks["sound_clipped"].values[(MINUTE > 10) & (MINUTE < 12)] = 0.2
    said = [mark("eyes_open", 2.0, 20.0), mark("eyes_closed", 25.0, 50.0)]
    (fault,) = checked(tracks, sheets["balance_only"], said)
    assert (fault.kind, spoilt(fault, "heard")) == ("clipped", ["eyes_open"])


def test_few_frames_spoil_the_measures_that_need_more(sheets: dict[str, Checklist]) -> None:
    """At ten frames a second lids and gaze get too few looks, and a quick jerk is hard to see."""
    (fault,) = checked(film().isel(time=slice(None, None, 3)), sheets["neuro_screening"])
    assert fault.kind == "rate_low"
    assert "cn7_eye_closing" in spoilt(fault, "measured")
    assert "reflex_patellar" in spoilt(fault, "seen")


def test_nobody_in_the_film_is_one_fault(sheets: dict[str, Checklist]) -> None:
    """Where nobody is found, no more is said of face and body."""
    tracks = film()
    for name in ("pose", "face"):
        tracks[f"{name}_state"].values[:] = NOT_FOUND
    assert [fault.kind for fault in checked(tracks, sheets["neuro_screening"])] == ["nobody"]


def test_two_people_who_cannot_be_told_apart_are_named(sheets: dict[str, Checklist]) -> None:
    """Where it is not sure who is examined, the steps that are measured on the body are spoilt, and a click helps."""
    tracks = film()
    tracks["pose_state"].values[:] = UNSURE
    (fault,) = checked(tracks, sheets["balance_only"])
    assert fault.kind == "person_unsure"
    assert set(spoilt(fault, "measured")) == {"position_guard", "eyes_open", "eyes_closed"}
    assert "Click on the partner" in FAULT_KINDS[fault.kind].advice


def test_a_close_up_is_no_fault_where_the_checklist_has_steps_on_the_face(sheets: dict[str, Checklist]) -> None:
    """A face that is large throughout is filmed so on purpose; a body that is cut off is then no fault."""
    tracks = film()
    tracks["pose_xy"].values[..., 1] += 500
    assert checked(tracks, sheets["neuro_screening"]) == ()
    assert [fault.kind for fault in checked(tracks, sheets["balance_only"])] == ["body_cut_off"]


def test_a_close_up_in_which_no_body_is_found_shows_somebody(sheets: dict[str, Checklist]) -> None:
    """A face without a body found is a body cut off for the stance, not a film without anybody."""
    tracks = film()
    tracks["pose_state"].values[:] = NOT_FOUND
    (fault,) = checked(tracks, sheets["balance_only"])
    assert (fault.kind, fault.holds) == ("body_cut_off", "filmed so")
    assert "eyes_open" in spoilt(fault, "measured")


def test_a_mark_of_a_step_that_the_sheet_has_not_is_passed_over(sheets: dict[str, Checklist]) -> None:
    """Marks of another version of the sheet spoil nothing and break nothing."""
    assert checked(film(), sheets["balance_only"], [mark("gone", 1.0, 5.0)]) == ()


def test_words_name_few_steps_and_count_many(sheets: dict[str, Checklist]) -> None:
    """One step is named by its title, many by their sections with the number of steps, all as every step."""
    sheet = sheets["neuro_screening"]
    (one,) = capture_check.in_words(checked(film(face_px=100.0), sheet), sheet)
    assert one["spoils"][0]["words"] == (
        "If filmed like this, numbers may be missing or weak, hard to see when grading: "
        "CN III, IV and VI: six positions of gaze."
    )
    (many,) = capture_check.in_words(checked(film(face_px=25.0), sheet), sheet)
    assert "steps in smell and sight (3), pupils and eye movements (5)" in many["spoils"][1]["words"]
    (dark,) = capture_check.in_words(checked(film(brightness=0.05), sheet), sheet)
    assert dark["spoils"][1]["words"] == "Hard to see when grading: every step of the checklist (42)."


def analysed(home: Home, tracks: xr.Dataset) -> tuple[Person, Recording]:
    """Keep a recording with these tracks in a home, and say who added it."""
    with repository(home) as repo:
        checklists.install_shipped(repo)
        learner = people.ensure(repo, "L-07", Role.LEARNER)
        kept = recording(checklist_id="neuro_screening", checklist_version=2, added_by=learner.id, duration_s=60.0)
        repo.add_recording(kept)
    assert capture_check.capture_check(home, learner, kept.id) is None
    store = TrackStore(home, kept.id)
    store.create(tracks)
    store.write(0, tracks, ["pose", "face", "picture", "sound"])
    store.mark_done("all")
    with repository(home) as repo:
        repo.put_job(Job(kept.id, "done", 1, 1, "", WHEN, None))
    return learner, kept


def _checks(home: Home, person: Person, within_s: float) -> dict[str, Any]:
    with reading(home) as repo:
        return dict(capture_check.capture_checks(home, repo, person, within_s))


def test_a_recording_is_checked_once_it_is_analysed(tmp_path: Path) -> None:
    """Nothing is said before the analysis is done; then the same to every page, and a new mark changes it."""
    home = find_home(tmp_path / "home")
    learner, kept = analysed(home, film(face_px=100.0))
    said = capture_check.capture_check(home, learner, kept.id)
    assert said is not None
    assert [fault["kind"] for fault in said] == ["face_small"]
    line = "Capture check: 1 thing to do better next time"
    assert _checks(home, learner, 0.0) == {kept.id: {"headline": line, "things": said}}
    assert capture_check.lines(said)[0] == line
    with repository(home) as repo:
        marks.place(repo, learner, kept, "cn7_eye_closing", None, 5.0, 15.0)
    assert capture_check.capture_check(home, learner, kept.id) == []


def test_a_page_does_not_wait_for_a_long_check(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A check that takes longer than a page will wait goes on meanwhile, and is told when the page asks again."""
    home, going_on = find_home(tmp_path / "home"), threading.Event()
    learner, kept = analysed(home, film())
    monkeypatch.setattr(capture_check, "checked", lambda *_: (going_on.wait(20), ())[1])
    assert _checks(home, learner, 0.0) == {}
    going_on.set()
    told = _checks(home, learner, 20.0)
    assert told == {kept.id: {"headline": "Capture check: nothing to do better", "things": []}}
