from __future__ import annotations

import json
from typing import Any
from uuid import uuid4

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from review.actions import comments, grades, marks, operations
from review.domain.errors import EntryRefused, NotFound
from review.domain.model import Interval, Person, Recording, Shape
from review.store.repository import Repository
from tests.store import made

RECORDING = made.recording()
CLIENT = "b7b1c0de-0001"
MARK_ID, COMMENT_ID = str(uuid4()), str(uuid4())


def _apply(repo: Repository, *ops: Any, person: Person = made.LEARNER, client: str = CLIENT) -> tuple[int, list[Any]]:
    return operations.apply(repo, person, RECORDING.id, client, list(ops))


def _mark(seq: object, **fields: object) -> dict[str, object]:
    usual = {"seq": seq, "op": "mark", "step": "romberg", "side": None, "onset_s": 1, "offset_s": 2.5}
    return {**usual, **fields}


def _comment(seq: object, **fields: object) -> dict[str, object]:
    return {"seq": seq, "op": "comment", "onset_s": 4, "text": "Here.", **fields}


def test_each_kind_of_operation_does_its_deed(repo: Repository) -> None:
    """A queue of every kind leaves the marks, grades and comments it speaks of."""
    ack, faults = _apply(
        repo,
        _mark(1, mark_id=MARK_ID),
        _mark(2, step="knee", side="left", onset_s=3, offset_s=4),
        {"seq": 3, "op": "grade", "step": "romberg", "side": "", "level": "yes", "confidence": 2},
        {"seq": 4, "op": "grade", "step": "romberg", "criterion": "guard", "level": "not_yet"},
        {"seq": 5, "op": "withdraw_grade", "step": "romberg", "criterion": "guard"},
        _comment(6, comment_id=COMMENT_ID, offset_s=5, step="knee", side="left"),
        {"seq": 7, "op": "comment", "reply_to": COMMENT_ID, "text": "Yes."},
        _comment(8, comment_id=COMMENT_ID, text="There."),
        _comment(9, text="Gone soon."),
        {"seq": 10, "op": "remove_mark", "mark_id": MARK_ID},
        {"seq": 11, "op": "enter", "step": "knee", "side": "left", "text": "2+ on NINDS"},
        {"seq": 12, "op": "enter", "step": "knee", "side": "right", "text": "1 on NINDS"},
        {"seq": 13, "op": "withdraw_entry", "step": "knee", "side": "right"},
    )
    assert (ack, faults) == (13, [])
    assert [(mark.step_id, mark.side) for mark in repo.marks(RECORDING.id)] == [("knee", "left")]
    assert [entry.removed for entry in repo.mark_history(MARK_ID)] == [False, True]
    found = [(grade.criterion_id, grade.level, grade.confidence) for grade in repo.grades(RECORDING.id)]
    assert found == [(None, "yes", 2)]
    assert [comment.text for comment in repo.comments(RECORDING.id)] == ["There.", "Yes.", "Gone soon."]
    assert [(entry.side, entry.text) for entry in repo.entries(RECORDING.id)] == [("left", "2+ on NINDS")]
    assert [grade.after_reveal for grade in repo.grades(RECORDING.id)] == [False]
    gone = repo.comments(RECORDING.id)[-1].id
    assert _apply(repo, {"seq": 14, "op": "remove_comment", "comment_id": gone}) == (14, [])
    assert [comment.text for comment in repo.comments(RECORDING.id)] == ["There.", "Yes."]


def test_what_is_prepared_and_drawn_is_kept(repo: Repository) -> None:
    """Circles, settled comments, uncovered steps, phrases and exemplars come through the queue as well."""
    circle = {"kind": "circle", "x": 0.25, "y": 0.5, "x2": 0.375, "y2": 0.5}
    queue: list[dict[str, object]] = [
        _comment(1, comment_id=COMMENT_ID, offset_s=6.5, shape=circle),
        {"seq": 2, "op": "resolve_comment", "comment_id": COMMENT_ID, "resolved": True},
        {"seq": 3, "op": "uncover", "step": "knee", "side": "left"},
        {"seq": 4, "op": "keep_phrase", "phrase_id": MARK_ID, "text": " Stand \n nearer. "},
        {"seq": 5, "op": "attach_exemplar", "exemplar_id": MARK_ID, "step": "romberg", "onset_s": 2, "offset_s": 9},
    ]
    assert _apply(repo, *queue, person=made.INSTRUCTOR) == (5, [])
    (comment,) = repo.comments(RECORDING.id)
    assert comment.shape == Shape("circle", 0.25, 0.5, 0.375, 0.5)
    assert (comment.resolved_by, comment.person_id) == (made.INSTRUCTOR.id, made.INSTRUCTOR.id)
    (seen,) = repo.uncoverings().of(RECORDING.id, made.INSTRUCTOR.id)
    assert (seen.reaches("knee", "left"), seen.reaches("knee", "right")) == (True, False)
    assert [phrase.text for phrase in repo.phrases().of(made.INSTRUCTOR.id)] == ["Stand nearer."]
    (exemplar,) = repo.exemplars().of_checklist("short_sheet")
    assert (exemplar.step_id, exemplar.recording_id, exemplar.interval) == ("romberg", RECORDING.id, Interval(2, 9))
    queue = [
        {"seq": 6, "op": "drop_phrase", "phrase_id": MARK_ID},
        {"seq": 7, "op": "detach_exemplar", "exemplar_id": MARK_ID},
        {"seq": 8, "op": "resolve_comment", "comment_id": COMMENT_ID, "resolved": False},
        {"seq": 9, "op": "remove_comment", "comment_id": COMMENT_ID},
        {"seq": 10, "op": "restore_comment", "comment_id": COMMENT_ID},
        {"seq": 11, "op": "uncover"},
    ]
    assert _apply(repo, *queue, person=made.INSTRUCTOR) == (11, [])
    assert repo.phrases().of(made.INSTRUCTOR.id) == repo.exemplars().of_checklist("short_sheet") == ()
    (comment,) = repo.comments(RECORDING.id)
    assert (comment.text, comment.resolved_by, comment.shape) == ("Here.", None, Shape(**circle))
    assert any(one.reaches("romberg", None) for one in repo.uncoverings().of(RECORDING.id, made.INSTRUCTOR.id))


def test_what_is_sent_again_is_done_once(repo: Repository) -> None:
    """A queue sent twice, then with one more at its end, is applied once in all."""
    queue = [_mark(1), _mark(2, onset_s=2), _comment(3)]
    assert _apply(repo, *queue) == (3, [])
    assert _apply(repo, *queue) == (3, [])
    assert _apply(repo, *queue, _mark(4, onset_s=0)) == (4, [])
    assert [mark.interval.onset_s for mark in repo.marks(RECORDING.id)] == [0, 1, 2]
    assert len(repo.comments(RECORDING.id)) == 1


def test_another_browser_has_its_own_numbers(repo: Repository) -> None:
    """Number 1 of a second browser is not the number 1 of the first."""
    _apply(repo, _mark(1), _mark(2))
    assert _apply(repo, _mark(1), client="another-browser") == (1, [])
    assert len(repo.marks(RECORDING.id)) == 3


def test_operations_are_done_in_the_order_of_their_numbers(repo: Repository) -> None:
    """A queue out of order, with a number twice, is applied as numbered; of two the first counts."""
    ops = [_mark(3, mark_id=MARK_ID, onset_s=0.3), _mark(1, mark_id=MARK_ID, onset_s=0.1)]
    ops += [_mark(2, mark_id=MARK_ID, onset_s=0.2), _mark(2, mark_id=MARK_ID, onset_s=0.9)]
    assert _apply(repo, *ops) == (3, [])
    assert [mark.interval.onset_s for mark in repo.mark_history(MARK_ID)] == [0.1, 0.2, 0.3]


def test_a_fault_does_not_stop_the_rest_and_is_told_once(repo: Repository) -> None:
    """The operation with the fault is named by number and dropped; those around it are stored."""
    queue = [_mark(1), _mark(2, step="nowhere"), _mark(3, onset_s=2)]
    ack, faults = _apply(repo, *queue)
    assert ack == 3
    assert [fault["seq"] for fault in faults] == [2]
    assert "No step is called 'nowhere'" in faults[0]["message"]
    assert [mark.interval.onset_s for mark in repo.marks(RECORDING.id)] == [1, 2]
    assert _apply(repo, *queue) == (3, [])


def _mark_and_fail(repo: Repository, person: Person, recording: Recording, given: operations.Fields) -> None:
    marks.place(repo, person, recording, "romberg", None, 1, 2)
    raise EntryRefused("failed half-way")


def test_a_fault_half_way_undoes_the_first_half(repo: Repository, monkeypatch: pytest.MonkeyPatch) -> None:
    """What an operation stored before its fault goes with it; what others stored stays."""
    monkeypatch.setattr(operations, "KINDS", {**operations.KINDS, "half": _mark_and_fail})
    ack, faults = _apply(repo, _comment(1), {"seq": 2, "op": "half"}, _comment(3))
    assert (ack, faults) == (3, [{"seq": 2, "message": "failed half-way"}])
    assert repo.marks(RECORDING.id) == ()
    assert len(repo.comments(RECORDING.id)) == 2


FAULTS: dict[str, tuple[dict[str, object], str]] = {
    "unknown operation": ({"op": "drop_tables"}, "'drop_tables' came as an operation; expected one of mark,"),
    "no operation": ({}, "NoneType came as an operation"),
    "operation is a list": ({"op": ["mark"]}, "list came as an operation"),
    "step missing": ({"op": "mark", "onset_s": 1, "offset_s": 2}, "step is missing"),
    "step is a number": (_mark(1, step=7), "step came as int; expected a short text"),
    "step too long": (_mark(1, step="x" * 81), "step has 81 characters; expected 1 to 80"),
    "half a character": (_mark(1, step="\ud83d"), "half a character"),
    "unknown side": (_mark(1, side="both"), "expected left, right or none"),
    "side is a number": (_mark(1, side=1), "expected left, right or none"),
    "time is a text": (_mark(1, onset_s="1"), "onset_s came as str; expected a number"),
    "time is true": (_mark(1, onset_s=True), "onset_s came as bool"),
    "time is no number": (_mark(1, onset_s=float("nan")), "start is nan s"),
    "time is huge": (_mark(1, offset_s=10**400), "offset_s is far too large"),
    "end missing": (_mark(1, offset_s=None), "offset_s is missing"),
    "mark id is no UUID": (_mark(1, mark_id="1"), "expected a UUID"),
    "mark unknown": ({"op": "remove_mark", "mark_id": MARK_ID}, "No mark has the id"),
    "level missing": ({"op": "grade", "step": "romberg"}, "level is missing"),
    "confidence is a fraction": (
        {"op": "grade", "step": "romberg", "level": "yes", "confidence": 0.5},
        "confidence came as float; expected a whole number",
    ),
    "confidence is huge": ({"op": "grade", "step": "romberg", "level": "yes", "confidence": 10**30}, "far too large"),
    "no grade to withdraw": ({"op": "withdraw_grade", "step": "romberg"}, "has given no grade"),
    "entry without text": ({"op": "enter", "step": "knee", "side": "left"}, "text is missing"),
    "entry that cannot be": ({"op": "enter", "step": "knee", "side": "left", "text": "6 NINDS"}, "Grade 6 came"),
    "step without entry": ({"op": "enter", "step": "romberg", "text": "2"}, "takes no entry"),
    "no entry to withdraw": ({"op": "withdraw_entry", "step": "knee", "side": "left"}, "has entered nothing"),
    "text missing": ({"op": "comment", "onset_s": 1}, "text is missing"),
    "text is endless": (_comment(1, text="x" * 10_001), "far too long"),
    "moment missing": ({"op": "comment", "text": "x"}, "onset_s is missing"),
    "answer to nothing": ({"op": "comment", "text": "x", "reply_to": COMMENT_ID}, "No comment has the id"),
    "shape is a text": (_comment(1, shape="circle"), "shape came as str"),
    "shape of no kind": (_comment(1, shape={"kind": "star", "x": 0, "y": 0}), "expected a point, a circle or an arrow"),
    "shape outside": (_comment(1, shape={"kind": "point", "x": 1.01, "y": 0}), "x of a shape is none"),
    "shape is no number": (_comment(1, shape={"kind": "point", "x": 0.5, "y": float("nan")}), "y of a shape is none"),
    "arrow without an end": (_comment(1, shape={"kind": "arrow", "x": 0.5, "y": 0.5}), "x2 of a shape is none"),
    "circle of no size": (
        _comment(1, shape={"kind": "circle", "x": 0.5, "y": 0.5, "x2": 0.5, "y2": 0.5}),
        "The circle has no length",
    ),
    "settled is a text": ({"op": "resolve_comment", "comment_id": COMMENT_ID, "resolved": "yes"}, "No comment has the"),
    "uncover a side of nothing": ({"op": "uncover", "side": "left"}, "came without a step"),
    "uncover nowhere": ({"op": "uncover", "step": "nowhere"}, "No step is called 'nowhere'"),
    "phrase of blanks": ({"op": "keep_phrase", "phrase_id": MARK_ID, "text": " \n "}, "A phrase of 0 characters"),
    "phrase too long": ({"op": "keep_phrase", "phrase_id": MARK_ID, "text": "x" * 201}, "A phrase of 201 characters"),
    "phrase id is no UUID": ({"op": "keep_phrase", "phrase_id": "1", "text": "x"}, "expected a UUID"),
    "phrase unknown": ({"op": "drop_phrase", "phrase_id": MARK_ID}, "was dropped already"),
    "exemplar by a learner": (
        {"op": "attach_exemplar", "exemplar_id": MARK_ID, "step": "romberg", "onset_s": 1, "offset_s": 2},
        "L-07 (learner) may not attach an exemplar",
    ),
    "exemplar unknown": ({"op": "detach_exemplar", "exemplar_id": MARK_ID}, "No exemplar has the id"),
    "comment unknown": ({"op": "remove_comment", "comment_id": COMMENT_ID}, "No comment has the id"),
}


@pytest.mark.parametrize(("operation", "words"), list(FAULTS.values()), ids=list(FAULTS))
def test_what_a_browser_sends_is_not_trusted(repo: Repository, operation: dict[str, object], words: str) -> None:
    """A malformed operation is told of in words, changes nothing, and counts as handled."""
    ack, faults = _apply(repo, {**operation, "seq": 1})
    assert ack == 1
    assert len(faults) == 1
    assert words in faults[0]["message"]
    assert (
        repo.marks(RECORDING.id)
        == repo.grades(RECORDING.id)
        == repo.comments(RECORDING.id)
        == repo.entries(RECORDING.id)
        == ()
    )


@pytest.mark.parametrize("seq", [None, 0, -1, 1.0, "1", True, 2**53, [1]], ids=repr)
def test_an_operation_without_a_number_is_left_out(repo: Repository, seq: object) -> None:
    """Only whole numbers from 1 that JavaScript can count to are numbers; the rest cannot block the queue."""
    ack, faults = _apply(repo, _mark(seq), _mark(5))
    assert (ack, [fault["seq"] for fault in faults]) == (5, [0])
    assert len(repo.marks(RECORDING.id)) == 1


@pytest.mark.parametrize("client", ["", "short", "x" * 65, "semi;colon-and-more", None, 7], ids=repr)
def test_a_browser_must_name_itself(repo: Repository, client: Any) -> None:
    """An id that no browser of ours makes is refused as a whole."""
    with pytest.raises(EntryRefused, match="browser's id is 8 to 64"):
        _apply(repo, _mark(1), client=client)


def test_a_queue_must_be_a_list(repo: Repository) -> None:
    """Something else in the queue's place is refused; something else inside it is left out."""
    with pytest.raises(EntryRefused, match="queue came as dict"):
        operations.apply(repo, made.LEARNER, RECORDING.id, CLIENT, {"seq": 1})  # type: ignore[arg-type]
    assert (
        _apply(repo, "mark", None, 7)[1]
        == [{"seq": 0, "message": "An operation came without a number. It was left out; reload the page."}] * 3
    )


def test_a_queue_for_an_unknown_recording_is_refused(repo: Repository) -> None:
    """Without the recording nothing is applied or acknowledged."""
    with pytest.raises(NotFound):
        operations.apply(repo, made.LEARNER, "zz", CLIENT, [_mark(1)])
    assert repo.applied(CLIENT) == 0


def test_a_long_queue_is_taken_in_parts(repo: Repository) -> None:
    """What lies beyond the limit of one call is acknowledged by the next."""
    queue = [{"seq": seq, "op": "nothing"} for seq in range(1, operations.MOST_AT_ONCE + 11)]
    ack, _ = _apply(repo, *queue)
    assert ack == operations.MOST_AT_ONCE
    ack, faults = _apply(repo, *queue[ack:])
    assert (ack, len(faults)) == (operations.MOST_AT_ONCE + 10, 10)


def test_entries_of_others_and_of_other_recordings_are_out_of_reach(repo: Repository) -> None:
    """A queue can touch neither what another person said nor what stands in another recording."""
    other = made.recording("b1")
    repo.add_recording(other)
    theirs = marks.place(repo, made.INSTRUCTOR, RECORDING, "romberg", None, 1, 2)
    said = comments.write(repo, made.INSTRUCTOR, RECORDING, 1, None, "Said.")
    far_mark = marks.place(repo, made.LEARNER, other, "romberg", None, 1, 2)
    far_comment = comments.write(repo, made.LEARNER, other, 1, None, "Far.")
    grades.give(repo, made.INSTRUCTOR, RECORDING, "romberg", None, "yes")
    ack, faults = _apply(
        repo,
        {"seq": 1, "op": "remove_mark", "mark_id": theirs.id},
        _mark(2, mark_id=theirs.id),
        {"seq": 3, "op": "remove_comment", "comment_id": said.id},
        _comment(4, comment_id=said.id, text="Unsaid."),
        {"seq": 5, "op": "remove_mark", "mark_id": far_mark.id},
        _mark(6, mark_id=far_mark.id),
        {"seq": 7, "op": "remove_comment", "comment_id": far_comment.id},
        _comment(8, comment_id=far_comment.id),
        {"seq": 9, "op": "comment", "reply_to": far_comment.id, "text": "x"},
        {"seq": 10, "op": "withdraw_grade", "step": "romberg"},
    )
    assert (ack, [fault["seq"] for fault in faults]) == (10, list(range(1, 11)))
    assert repo.marks(RECORDING.id) == (theirs,)
    assert repo.comments(RECORDING.id) == (said,)
    assert repo.marks(other.id) == (far_mark,)
    assert repo.comments(other.id) == (far_comment,)
    assert len(repo.grades(RECORDING.id)) == 1


NAMES = ["seq", "op", "step", "side", "onset_s", "offset_s", "mark_id", "level", "text", "reply_to", "comment_id"]
NAMES += ["confidence", "criterion", "shape", "resolved", "phrase_id", "exemplar_id", "refusal_id", "recording"]
ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(st.characters()) | st.sampled_from([MARK_ID]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=5,
)
SENT = st.dictionaries(st.sampled_from(NAMES), ANYTHING).flatmap(
    lambda fields: st.sampled_from([*operations.KINDS]).map(lambda kind: {"op": kind, **fields})
)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(ops=st.lists(SENT, max_size=4))
def test_no_queue_whatsoever_breaks_the_page(repo: Repository, ops: list[dict[str, Any]]) -> None:
    """Whatever the fields hold, each operation is stored or told of, and the answer is plain JSON."""
    start = repo.applied(CLIENT)
    if start > 2**52:
        repo.set_applied(CLIENT, start := 0)
    numbered = [{"seq": start + 1 + place, **operation} for place, operation in enumerate(ops)]
    ack, faults = _apply(repo, *numbered)
    assert ack >= start
    assert len(json.dumps(faults, allow_nan=False)) < 20_000
