"""Whether something is still as the sender of an operation knows it, so that an undo never undoes another's change."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any, Final

from review.domain.errors import EntryRefused
from review.domain.model import Person, Recording
from review.store.repository import Repository

Facts = Mapping[str, object]

_SAME_S: Final = 1e-4
"""Times nearer than this are the same, in seconds; no frame is as short."""


def demand_unchanged(repo: Repository, person: Person, recording: Recording, operation: Mapping[str, Any]) -> None:
    """See that what an operation changes is as its field ``was`` says; an operation without that field is let through.

    Parameters
    ----------
    repo
        Open transaction.
    person, recording
        Whose thing it is, and where.
    operation
        As `review.actions.operations` describes it. ``was`` holds the facts of the mark (step, side, onset_s,
        offset_s) or the refusal (the same), the grade (level, confidence), the entry (text) or the comment (text)
        before the change; None says that there was none.

    Raises
    ------
    EntryRefused
        If it was changed since, or ``was`` is none that can be.
    """
    find = _FINDERS.get(str(operation.get("op")))
    if "was" not in operation or find is None:
        return
    was = operation["was"]
    if was is not None and not isinstance(was, Mapping):
        raise EntryRefused(f"was came as {type(was).__name__}; expected what there was, or null. Nothing was changed.")
    found = find(repo, person, recording, operation)
    if not _same(found, was):
        raise EntryRefused(
            "This was changed in another window since, so nothing was undone. Reload the page to see it."
        )


def _same(found: Facts | None, was: Facts | None) -> bool:
    if found is None or was is None:
        return found is was
    return all(_alike(fact, was.get(name)) for name, fact in found.items())


def _alike(one: object, other: object) -> bool:
    if isinstance(one, float) and isinstance(other, int | float):
        return math.isclose(one, other, rel_tol=0.0, abs_tol=_SAME_S)
    return one == other


def _at_place(said: Any, person: Person, operation: Mapping[str, Any]) -> bool:
    place = (operation.get("step"), operation.get("side") or None)
    return said.person_id == person.id and (said.step_id, said.side) == place


def _mark(repo: Repository, person: Person, recording: Recording, operation: Mapping[str, Any]) -> Facts | None:
    for mark in repo.marks(recording.id):
        if mark.id == operation.get("mark_id"):
            times = {"onset_s": mark.interval.onset_s, "offset_s": mark.interval.offset_s}
            return {"step": mark.step_id, "side": mark.side, **times}
    return None


def _grade(repo: Repository, person: Person, recording: Recording, operation: Mapping[str, Any]) -> Facts | None:
    for grade in repo.grades(recording.id):
        if _at_place(grade, person, operation) and grade.criterion_id == operation.get("criterion"):
            return {"level": grade.level, "confidence": grade.confidence}
    return None


def _entry(repo: Repository, person: Person, recording: Recording, operation: Mapping[str, Any]) -> Facts | None:
    found = (entry for entry in repo.entries(recording.id) if _at_place(entry, person, operation))
    return next(({"text": entry.text} for entry in found), None)


def _comment(repo: Repository, person: Person, recording: Recording, operation: Mapping[str, Any]) -> Facts | None:
    found = (one for one in repo.comments(recording.id) if one.id == operation.get("comment_id"))
    return next(({"text": one.text} for one in found), None)


def _refusal(repo: Repository, person: Person, recording: Recording, operation: Mapping[str, Any]) -> Facts | None:
    for one in repo.refusals().of(recording.id, person.id):
        if one.id == operation.get("refusal_id"):
            times = {"onset_s": one.interval.onset_s, "offset_s": one.interval.offset_s}
            return {"step": one.step_id, "side": one.side, **times}
    return None


_FINDERS: Final[Mapping[str, Callable[[Repository, Person, Recording, Mapping[str, Any]], Facts | None]]] = (
    MappingProxyType(
        {
            "mark": _mark,
            "remove_mark": _mark,
            "grade": _grade,
            "withdraw_grade": _grade,
            "enter": _entry,
            "withdraw_entry": _entry,
            "comment": _comment,
            "remove_comment": _comment,
            "restore_comment": _comment,
            "refuse": _refusal,
            "take_back_refusal": _refusal,
        }
    )
)
