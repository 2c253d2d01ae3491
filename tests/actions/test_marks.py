from __future__ import annotations

import math
from uuid import UUID, uuid4

import pytest

from review.actions import marks
from review.domain.errors import EntryRefused, NotAllowed, NotFound
from review.domain.model import Interval
from review.store.repository import Repository
from tests.store import made

RECORDING = made.recording()


def test_a_mark_says_who_where_and_when(repo: Repository) -> None:
    """A placed mark is stored under a new UUID with its person, step, side and seconds."""
    mark = marks.place(repo, made.PEER, RECORDING, "knee", "left", 2, 3.5)
    assert repo.marks(RECORDING.id) == (mark,)
    assert str(UUID(mark.id)) == mark.id
    assert (mark.person_id, mark.step_id, mark.side) == (made.PEER.id, "knee", "left")
    assert (mark.interval, mark.revision) == (Interval(2.0, 3.5), 1)


def test_a_moved_mark_keeps_where_it_was(repo: Repository) -> None:
    """Placing with the id of one's own mark adds a revision."""
    identity = str(uuid4())
    for onset_s in (1.0, 2.0):
        marks.place(repo, made.LEARNER, RECORDING, "romberg", None, onset_s, 9, identity.upper())
    assert [mark.interval.onset_s for mark in repo.mark_history(identity)] == [1.0, 2.0]
    assert [mark.revision for mark in repo.marks(RECORDING.id)] == [2]


def test_a_removed_mark_can_be_put_back(repo: Repository) -> None:
    """Removing, then placing again under the same id, is the way to undo; the history shows all three."""
    mark = marks.place(repo, made.LEARNER, RECORDING, "romberg", None, 1, 2)
    marks.remove(repo, made.LEARNER, mark.id)
    assert repo.marks(RECORDING.id) == ()
    with pytest.raises(EntryRefused, match="removed already"):
        marks.remove(repo, made.LEARNER, mark.id)
    marks.place(repo, made.LEARNER, RECORDING, "romberg", None, 1, 2, mark.id)
    assert [entry.removed for entry in repo.mark_history(mark.id)] == [False, True, False]
    assert [entry.id for entry in repo.marks(RECORDING.id)] == [mark.id]


def test_nobody_moves_or_removes_anothers_mark(repo: Repository) -> None:
    """An instructor cannot change a learner's mark; both may mark the same step."""
    mark = marks.place(repo, made.LEARNER, RECORDING, "romberg", None, 1, 2)
    with pytest.raises(NotAllowed, match="somebody else's"):
        marks.place(repo, made.INSTRUCTOR, RECORDING, "romberg", None, 3, 4, mark.id)
    with pytest.raises(NotAllowed, match="somebody else's"):
        marks.remove(repo, made.INSTRUCTOR, mark.id)
    marks.place(repo, made.INSTRUCTOR, RECORDING, "romberg", None, 3, 4)
    assert [entry.person_id for entry in repo.marks(RECORDING.id)] == [made.LEARNER.id, made.INSTRUCTOR.id]


@pytest.mark.parametrize(
    ("onset_s", "offset_s", "words"),
    [
        (-0.1, 1, "start is -0.1 s"),
        (1, 20.01, "end is 20.01 s"),
        (21, 22, "start is 21 s and the end is 22 s"),
        (math.nan, 1, "start is nan s"),
        (1, math.inf, "end is inf s"),
        (2, 1, "from 2.0 s to 1.0 s came; .* an end not before the start"),
    ],
    ids=["before", "behind", "both behind", "nan", "endless", "turned round"],
)
def test_times_outside_the_film_are_refused(repo: Repository, onset_s: float, offset_s: float, words: str) -> None:
    """A mark lies within the 20 s of the film, its end not before its start."""
    with pytest.raises(EntryRefused, match=words):
        marks.place(repo, made.LEARNER, RECORDING, "romberg", None, onset_s, offset_s)
    assert repo.marks(RECORDING.id) == ()


@pytest.mark.parametrize(("offset_s", "stored_s"), [(20.0, 20.0), (20.0005, 20.0), (19.9995, 19.9995)])
def test_the_films_very_end_can_be_marked(repo: Repository, offset_s: float, stored_s: float) -> None:
    """A time that rounding put half a millisecond behind the end means the end."""
    assert marks.place(repo, made.LEARNER, RECORDING, "romberg", None, 0, offset_s).interval.offset_s == stored_s


@pytest.mark.parametrize(
    ("step_id", "side", "words"),
    [
        ("rombberg", None, "Did you mean romberg"),
        ("romberg", "left", "Side 'left' came for the step 'Romberg'; expected no side"),
        ("knee", None, "Side 'none' came for the step 'Knee reflex'; expected right or left"),
    ],
    ids=["unknown step", "side too many", "side missing"],
)
def test_the_place_must_be_in_the_checklist(repo: Repository, step_id: str, side: str | None, words: str) -> None:
    """Steps and sides are those of the recording's checklist."""
    with pytest.raises((EntryRefused, NotFound), match=words):
        marks.place(repo, made.LEARNER, RECORDING, step_id, side, 1, 2)


def test_a_recording_without_a_checklist_has_no_steps(repo: Repository) -> None:
    """Marking before a checklist was chosen says what to do first."""
    bare = made.recording("b1", checklist_id=None, checklist_version=None)
    repo.add_recording(bare)
    with pytest.raises(EntryRefused, match="no checklist yet"):
        marks.place(repo, made.LEARNER, bare, "romberg", None, 1, 2)


@pytest.mark.parametrize("identity", ["m1", "", "x" * 1000], ids=["short", "empty", "long"])
def test_an_id_from_outside_must_be_a_uuid(repo: Repository, identity: str) -> None:
    """Other text is no id."""
    with pytest.raises(EntryRefused, match="expected a UUID"):
        marks.place(repo, made.LEARNER, RECORDING, "romberg", None, 1, 2, identity)


def test_a_mark_stays_in_its_recording(repo: Repository) -> None:
    """The id of a mark cannot be taken to another recording."""
    other = made.recording("b1")
    repo.add_recording(other)
    mark = marks.place(repo, made.LEARNER, RECORDING, "romberg", None, 1, 2)
    with pytest.raises(EntryRefused, match="belongs to another recording"):
        marks.place(repo, made.LEARNER, other, "romberg", None, 1, 2, mark.id)
