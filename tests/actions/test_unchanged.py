from __future__ import annotations

from typing import Any
from uuid import uuid4

import pytest

from review.actions import comments, operations
from review.domain.errors import EntryRefused, NotAllowed
from review.store.repository import Repository
from tests.store import made

RECORDING = made.recording()
MARK_ID, COMMENT_ID = str(uuid4()), str(uuid4())
PLACE = {"step": "knee", "side": "left"}
MARK = {**PLACE, "onset_s": 1.0, "offset_s": 2.5}


def _apply(repo: Repository, client: str, *ops: dict[str, Any]) -> list[str]:
    numbered = [{"seq": number, **operation} for number, operation in enumerate(ops, 1)]
    _, faults = operations.apply(repo, made.LEARNER, RECORDING.id, f"client-{client}", numbered)
    return [fault["message"] for fault in faults]


UNDONE = [
    pytest.param({"op": "remove_mark", "mark_id": MARK_ID, "was": MARK}, id="mark"),
    pytest.param({"op": "withdraw_grade", **PLACE, "was": {"level": "yes", "confidence": 2}}, id="grade"),
    pytest.param({"op": "withdraw_entry", **PLACE, "was": {"text": "2+ on NINDS"}}, id="entry"),
    pytest.param({"op": "remove_comment", "comment_id": COMMENT_ID, "was": {"text": "Here."}}, id="comment"),
]
"""An undo of each kind, with what it expects to find."""


def _said(repo: Repository) -> None:
    faults = _apply(
        repo,
        "first",
        {"op": "mark", "mark_id": MARK_ID, **MARK},
        {"op": "grade", **PLACE, "level": "yes", "confidence": 2},
        {"op": "enter", **PLACE, "text": "2+ on NINDS"},
        {"op": "comment", "comment_id": COMMENT_ID, "onset_s": 4, "text": "Here."},
    )
    assert faults == []


def _count(repo: Repository) -> int:
    kinds = (repo.marks, repo.grades, repo.entries, repo.comments)
    return sum(len(of(RECORDING.id)) for of in kinds)


@pytest.mark.parametrize("undo", UNDONE)
def test_what_is_as_it_was_is_undone(repo: Repository, undo: dict[str, Any]) -> None:
    """An undo of what nobody has changed since takes that one thing away."""
    _said(repo)
    assert _apply(repo, "second", undo) == []
    assert _count(repo) == 3


CHANGES = [
    {"op": "mark", "mark_id": MARK_ID, **MARK, "offset_s": 2.6},
    {"op": "grade", **PLACE, "level": "yes", "confidence": 3},
    {"op": "enter", **PLACE, "text": "3+ on NINDS"},
    {"op": "comment", "comment_id": COMMENT_ID, "text": "There."},
]


@pytest.mark.parametrize("undo", UNDONE)
def test_what_was_changed_since_is_left(repo: Repository, undo: dict[str, Any]) -> None:
    """After any change by another window the undo is refused in words, and all stays."""
    _said(repo)
    assert _apply(repo, "another", *CHANGES) == []
    [told] = _apply(repo, "second", undo)
    assert "another window" in told
    assert _count(repo) == 4


@pytest.mark.parametrize("undo", UNDONE)
def test_what_is_gone_is_not_undone(repo: Repository, undo: dict[str, Any]) -> None:
    """What another window took away is not taken away again; said to have been nothing, it is none either."""
    _said(repo)
    nothing = {**undo, "was": None}
    assert "another window" in _apply(repo, "early", nothing)[0]
    assert _apply(repo, "another", {key: value for key, value in undo.items() if key != "was"}) == []
    assert "another window" in _apply(repo, "second", undo)[0]


def test_mark_is_put_back_where_there_is_none(repo: Repository) -> None:
    """A removed mark comes back under its own id if there is still none; the second time there is one."""
    _said(repo)
    again = {"op": "mark", "mark_id": MARK_ID, **MARK, "was": None}
    assert _apply(repo, "second", {"op": "remove_mark", "mark_id": MARK_ID}, again, again)[0].startswith("This was")
    assert [mark.id for mark in repo.marks(RECORDING.id)] == [MARK_ID]


@pytest.mark.parametrize("was", ["text", 3, []])
def test_what_was_must_be_facts(repo: Repository, was: object) -> None:
    """Anything but a set of facts, or null, is refused."""
    _said(repo)
    assert "was came as" in _apply(repo, "odd", {"op": "remove_mark", "mark_id": MARK_ID, "was": was})[0]


def test_removed_comment_comes_back_as_it_was(repo: Repository) -> None:
    """A comment of one's own that was removed comes back with its text; it is nobody else's to put back."""
    comment = comments.write(repo, made.LEARNER, RECORDING, 4, None, "Asked.")
    with pytest.raises(EntryRefused, match="there already"):
        comments.restore(repo, made.LEARNER, comment.id)
    comments.remove(repo, made.LEARNER, comment.id)
    with pytest.raises(NotAllowed):
        comments.restore(repo, made.PEER, comment.id)
    assert _apply(repo, "undoes", {"op": "restore_comment", "comment_id": comment.id, "was": None}) == []
    [back] = repo.comments(RECORDING.id)
    assert (back.text, back.interval, back.revision) == ("Asked.", comment.interval, 3)
