"""Refusing proposals: whose refusals they are, how far they reach, and that they can be undone."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

import pytest

from review.actions import operations, proposals
from review.domain.errors import EntryRefused, NotAllowed, NotFound
from review.domain.model import Interval, Side
from review.domain.proposal import Proposal, Refusal
from review.store.repository import Repository
from tests.store import made

RECORDING = made.recording()
NAME = str(uuid4())
REFUSED = Refusal(NAME, RECORDING.id, "knee", "left", Interval(4.0, 8.0), made.LEARNER.id, made.WHEN)


def _refuse(repo: Repository, seq: int, **fields: object) -> list[str]:
    operation = {"seq": seq, "op": "refuse", "refusal_id": NAME, "step": "knee", "side": "left"}
    asked = {**operation, "onset_s": 4, "offset_s": 8, **fields}
    _, faults = operations.apply(repo, made.LEARNER, RECORDING.id, "browser-1", [asked])
    return [fault["message"] for fault in faults]


def test_a_refusal_is_kept_and_taken_back(repo: Repository) -> None:
    """Both come through the queue of the page; nothing becomes a mark by it."""
    assert _refuse(repo, 1) == []
    (kept,) = repo.refusals().of(RECORDING.id, made.LEARNER.id)
    assert (kept.step_id, kept.side, kept.interval) == ("knee", "left", Interval(4.0, 8.0))
    assert repo.refusals().of(RECORDING.id, made.PEER.id) == ()
    assert repo.marks(RECORDING.id) == ()
    back = {"op": "take_back_refusal", "refusal_id": NAME}
    assert _refuse(repo, 2, **back, was=None) == [
        "This was changed in another window since, so nothing was undone. Reload the page to see it."
    ]
    was = {"step": "knee", "side": "left", "onset_s": 4.0, "offset_s": 8.0}
    assert _refuse(repo, 3, **back, was=was) == []
    assert repo.refusals().of(RECORDING.id, made.LEARNER.id) == ()
    assert "No refusal has the id" in _refuse(repo, 4, **back)[0]


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"side": None}, "expected right or left"),
        ({"step": "nowhere"}, "No step is called 'nowhere'"),
        ({"offset_s": 21}, "expected times within the film"),
        ({"refusal_id": "mine"}, "mine"),
        ({"refusal_id": None}, "refusal_id is missing"),
    ],
)
def test_what_is_no_place_is_not_refused(repo: Repository, fields: dict[str, object], words: str) -> None:
    """A step, a side and times of the film are demanded as for a mark."""
    (message,) = _refuse(repo, 1, **fields)
    assert words in message
    assert repo.refusals().of(RECORDING.id, made.LEARNER.id) == ()


def test_nobody_takes_back_the_refusal_of_another(repo: Repository) -> None:
    """Nor is it written over by a refusal with the same id, or reached from another recording."""
    _refuse(repo, 1)
    with pytest.raises(NotAllowed):
        proposals.take_back(repo, made.INSTRUCTOR, NAME)
    with pytest.raises(NotAllowed):
        proposals.refuse(repo, made.INSTRUCTOR, RECORDING, NAME, "romberg", None, 1.0, 2.0)
    other = made.recording("b1")
    repo.add_recording(other)
    with pytest.raises(EntryRefused, match="another recording"):
        proposals.refuse(repo, made.LEARNER, other, NAME, "romberg", None, 1.0, 2.0)
    _, faults = operations.apply(
        repo, made.LEARNER, other.id, "browser-2", [{"seq": 1, "op": "take_back_refusal", "refusal_id": NAME}]
    )
    assert "belongs to another recording" in faults[0]["message"]
    assert repo.refusals().get(NAME).interval == Interval(4.0, 8.0)


def test_refusals_come_oldest_first_and_go_with_the_recording(repo: Repository) -> None:
    """Erasing a recording leaves no refusal of it."""
    later = Refusal(str(uuid4()), *REFUSED_PLACE, Interval(1.0, 2.0), made.LEARNER.id, made.WHEN + timedelta(hours=1))
    repo.refusals().put(later)
    repo.refusals().put(REFUSED)
    assert repo.refusals().of(RECORDING.id, made.LEARNER.id) == (REFUSED, later)
    repo.erase_recording(RECORDING.id)
    assert repo.refusals().find(NAME) is None
    with pytest.raises(NotFound):
        repo.refusals().get(later.id)


REFUSED_PLACE = (RECORDING.id, "knee", None)


@pytest.mark.parametrize(
    ("step", "side", "ends", "reached"),
    [
        ("knee", "left", (4.0, 8.0), True),
        ("knee", "right", (4.0, 8.0), False),
        ("romberg", "left", (4.0, 8.0), False),
        ("knee", "left", (6.0, 10.0), False),
        ("knee", "left", (5.9, 9.9), True),
        ("knee", "left", (5.0, 6.0), True),
        ("knee", "left", (0.0, 20.0), True),
        ("knee", "left", (7.0, 7.0), True),
        ("knee", "left", (9.0, 9.0), False),
        ("knee", "left", (12.0, 16.0), False),
    ],
)
def test_how_far_a_refusal_reaches(step: str, side: Side, ends: tuple[float, float], reached: bool) -> None:
    """It reaches proposals of the same step and side that share more than half of the shorter stretch."""
    assert REFUSED.reaches(Proposal(step, side, Interval(*ends), 0.9)) is reached
