"""Putting right what was said of a recording: what rested on it is let go, and nothing else is touched."""

from __future__ import annotations

import os
import shutil
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from review.__main__ import main
from review.actions import comments, entries, grades, marks, people, recordings
from review.actions.changes import Answers, change
from review.domain.checklist_file import parse_checklist
from review.domain.errors import EntryRefused, NotAllowed, NotFound
from review.domain.model import Person, Pointing, Recording, Role
from review.pipeline.analyse import analyse
from review.store.home import Home, find_home
from review.store.media import media_folder
from review.store.repository import Job, reading, repository
from review.store.trackstore import TrackStore
from tests.films import even_times, make_film
from tests.homes import learners_home
from tests.store.made import SHEET


@pytest.fixture
def kept(tmp_path: Path) -> tuple[Home, Person, Recording]:
    """Return a home, a learner and the learner's recording of a short film."""
    home, learner = learners_home(tmp_path / "home")
    return home, learner, recordings.add(home, learner, make_film(tmp_path / "attempt.mp4", even_times(9)))


@pytest.fixture(scope="module")
def looked_at(tmp_path_factory: pytest.TempPathFactory) -> tuple[Home, Person, Recording]:
    """Return the same once analysed."""
    folder = tmp_path_factory.mktemp("looked_at")
    home, learner = learners_home(folder / "home")
    recording = recordings.add(home, learner, make_film(folder / "attempt.mp4", even_times(9)))
    analysed(home, recording)
    return home, learner, recording


@pytest.fixture
def seen(looked_at: tuple[Home, Person, Recording], tmp_path: Path) -> tuple[Home, Person, Recording]:
    """Return a copy of the home with the analysed recording."""
    shutil.copytree(looked_at[0].root, tmp_path / "seen")
    return find_home(tmp_path / "seen"), *looked_at[1:]


def analysed(home: Home, recording: Recording) -> TrackStore:
    """Analyse a recording here and now and return its tracks."""
    with ThreadPoolExecutor(1) as pool:
        analyse(home, recording, executor=pool)
    return TrackStore(home, recording.id)


def stored(home: Home, recording: Recording) -> tuple[Recording, Job | None, int]:
    """Return what is stored of a recording: its facts, its job, and how many values."""
    with reading(home) as repo:
        return repo.recording(recording.id), repo.job(recording.id), len(repo.values(recording.id))


def test_film_that_turns_out_mirrored_is_looked_at_anew(seen: tuple[Home, Person, Recording]) -> None:
    """Tracks and values go, the analysis waits, and there are stills the other way round; analysing brings all back."""
    home, learner, recording = seen
    tracks = TrackStore(home, recording.id)
    assert stored(home, recording)[2] > 0
    changed, told = change(home, learner, recording.id, {"mirrored": True})
    assert changed.mirrored
    assert any("filmed mirrored" in line for line in told)
    assert not tracks.exists()
    found, job, values = stored(home, recording)
    assert (found, job.state if job else None, values) == (changed, "waiting", 0)
    stills = media_folder(home, recording.sha256) / "stills"
    assert len(list(stills.glob("*-flipped.jpg"))) == 5
    assert analysed(home, changed).done()


def test_height_and_pace_are_written_into_the_tracks(seen: tuple[Home, Person, Recording]) -> None:
    """Another height or slow motion keeps the tracks and tells them; the values are measured anew."""
    home, learner, recording = seen
    tracks = TrackStore(home, recording.id)
    done = tracks.done()
    change(home, learner, recording.id, {"partner_height_mm": 1640.0, "slow_motion": 4.0})
    attrs = tracks.open().attrs
    assert (attrs["height_mm"], attrs["slow_motion"], tracks.done()) == (1640.0, 4.0, done)
    changed, job, values = stored(home, recording)
    assert (changed.partner_height_mm, changed.slow_motion, values) == (1640.0, 4.0, 0)
    assert job is not None
    assert job.state == "waiting"
    change(home, learner, recording.id, {"partner_height_mm": None})
    assert tracks.open().attrs["height_mm"] != tracks.open().attrs["height_mm"]  # NaN: unknown again
    assert analysed(home, stored(home, recording)[0]).open().attrs["slow_motion"] == 4.0


def test_pointings_of_a_mirrored_film_move_to_the_other_side(kept: tuple[Home, Person, Recording]) -> None:
    """Somebody pointed at in the left third is in the right third once the picture is flipped."""
    home, learner, recording = kept
    with repository(home) as repo:
        repo.put_pointing(pointing(learner, recording, 0.25))
    change(home, learner, recording.id, {"mirrored": True})
    with reading(home) as repo:
        assert [(one.x, one.y) for one in repo.pointings(recording.id)] == [(0.75, 0.5)]


def pointing(person: Person, recording: Recording, x: float) -> Pointing:
    """Make a pointing at the start of a recording, half-way down."""
    return Pointing("p1", recording.id, 0.0, x, 0.5, person.id, recording.added_at)


def test_the_same_answers_change_nothing(seen: tuple[Home, Person, Recording]) -> None:
    """What was so before is no change, and no value goes for it."""
    home, learner, recording = seen
    before = stored(home, recording)
    answers: Answers = {"mirrored": False, "slow_motion": 1.0, "checklist_id": "neuro_screening", "name": "attempt.mp4"}
    assert change(home, learner, recording.id, answers) == (recording, ())
    assert stored(home, recording) == before


def test_another_sheet_counts_its_own_attempts(kept: tuple[Home, Person, Recording], tmp_path: Path) -> None:
    """The second film of a learner is attempt 2 of its sheet, and attempt 1 of another one."""
    home, learner, _ = kept
    second = recordings.add(home, learner, make_film(tmp_path / "second.mp4", even_times(12)))
    assert second.attempt == 2
    other = other_sheet(home)
    changed, told = change(home, learner, second.id, {"checklist_id": other, "name": "  Second try "})
    assert (changed.checklist_id, changed.attempt, changed.name) == (other, 1, "Second try")
    assert len(told) == 2


def other_sheet(home: Home) -> str:
    """Store a sheet of two steps and return its id."""
    with repository(home) as repo:
        repo.put_checklist(parse_checklist(SHEET, "short"), SHEET)
    return "short_sheet"


def test_sheet_without_a_place_for_what_was_said_is_refused(kept: tuple[Home, Person, Recording]) -> None:
    """Marks, grades, comments and entries that would be hidden by another sheet are named, and the sheet stays."""
    home, learner, recording = kept
    with repository(home) as repo:
        marks.place(repo, learner, recording, "hand_hygiene", None, 0.1, 0.2)
        grades.give(repo, learner, recording, "hand_hygiene", None, "not_assessable")
        comments.write(repo, learner, recording, 0.1, 0.2, "Both hands.", step_id="hand_hygiene")
        entries.enter(repo, learner, recording, "cn8_weber", None, "middle")
    other = other_sheet(home)
    with pytest.raises(EntryRefused, match=r"no place for 4 of .*a mark of hand_hygiene.*an entry on cn8_weber"):
        change(home, learner, recording.id, {"checklist_id": other, "mirrored": True})
    assert stored(home, recording)[0] == recording


@pytest.mark.parametrize(
    ("answers", "fault"),
    [
        ({"partner_height_mm": 17.2}, EntryRefused),
        ({"slow_motion": 0.5}, EntryRefused),
        ({"name": "  "}, EntryRefused),
        ({"checklist_id": "nowhere"}, NotFound),
    ],
    ids=["height in decimetres", "faster than life", "no name", "no such sheet"],
)
def test_answers_that_cannot_be_are_refused(
    kept: tuple[Home, Person, Recording], answers: Answers, fault: type[Exception]
) -> None:
    """One clear error, and nothing is changed."""
    home, learner, recording = kept
    with pytest.raises(fault):
        change(home, learner, recording.id, answers)
    assert stored(home, recording)[0] == recording


def test_what_is_being_analysed_is_not_changed(kept: tuple[Home, Person, Recording]) -> None:
    """As long as a process is at it, its answers stay; a peer may not change them at all."""
    home, learner, recording = kept
    with repository(home) as repo:
        repo.put_job(Job(recording.id, "running", 0, 9, "", recording.added_at, os.getpid()))
        peer = people.ensure(repo, "L-12", Role.PEER)
    with pytest.raises(EntryRefused, match="being analysed just now"):
        change(home, learner, recording.id, {"mirrored": True})
    with pytest.raises(NotAllowed):
        change(home, peer, recording.id, {"name": "mine"})
    assert stored(home, recording)[0] == recording


def test_change_tells_what_it_did(kept: tuple[Home, Person, Recording], capsys: pytest.CaptureFixture[str]) -> None:
    """The command prints each change; without one it says what was expected."""
    home, _, recording = kept
    order = ["change", recording.id[:6], "--home", str(home.root)]
    assert main([*order, "--height-mm", "1640", "--mirrored"]) == 0
    said = capsys.readouterr().out
    assert "filmed mirrored" in said
    assert "1640 mm" in said
    assert main([*order, "--no-height", "--not-mirrored"]) == 0
    assert stored(home, recording)[0] == recording
    assert main(order) == 2
    assert "change --help" in capsys.readouterr().err
