"""What people said of a recording, as plain JSON values: marks, grades with their history, comments."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any, Final

from review.domain.model import Comment, Grade, Interval, Mark, Person

_WHEN: Final = {False: "before", True: "after", None: None}


def person_json(person: Person) -> dict[str, Any]:
    """Return a person."""
    return {"id": person.id, "code": person.code, "role": str(person.role)}


def by(person_id: str, people: Mapping[str, Person], me: Person) -> dict[str, Any]:
    """Return who said something, and whether it was the person who looks."""
    author = people[person_id]
    return {"person": author.code, "role": str(author.role), "mine": author.id == me.id}


def times(seconds: Interval) -> dict[str, float]:
    """Return the ends of a stretch."""
    return {"onset_s": seconds.onset_s, "offset_s": seconds.offset_s}


def mark_json(mark: Mark, people: Mapping[str, Person], me: Person) -> dict[str, Any]:
    """Return a mark."""
    place = {"id": mark.id, "step": mark.step_id, "side": mark.side}
    return {**place, **times(mark.interval), **by(mark.person_id, people, me)}


def grade_json(grade: Grade, history: Sequence[Grade], people: Mapping[str, Person], me: Person) -> dict[str, Any]:
    """Return a grade with its history, oldest first.

    ``when`` of a part of the history is "before" or "after" the person saw the step's estimates and others' grades,
    or None where that was not noted.
    """
    place = {"id": grade.id, "step": grade.step_id, "side": grade.side, "criterion": grade.criterion_id}
    told = [
        {
            "level": one.level,
            "confidence": one.confidence,
            "when": _WHEN[one.after_reveal],
            "removed": one.removed,
            "at": one.at.isoformat(timespec="seconds"),
        }
        for one in history
    ]
    what = {"level": grade.level, "confidence": grade.confidence, "history": told}
    return {**place, **what, **by(grade.person_id, people, me)}


def comment_json(comment: Comment, people: Mapping[str, Person], me: Person, covered: bool) -> dict[str, Any]:
    """Return a comment; of one that is covered only place, author and whether it is settled."""
    place = {"id": comment.id, "step": comment.step_id, "side": comment.side, "reply_to": comment.reply_to}
    shape = None if comment.shape is None or covered else asdict(comment.shape)
    what = {"text": "" if covered else comment.text, "shape": shape, "covered": covered}
    settled = {
        "resolved": comment.resolved_by is not None,
        "resolved_by": None if comment.resolved_by is None else people[comment.resolved_by].code,
        "resolved_at": None if comment.resolved_at is None else comment.resolved_at.isoformat(timespec="seconds"),
    }
    said = {"at": comment.at.isoformat(timespec="seconds"), **by(comment.person_id, people, me)}
    return {**place, **times(comment.interval), **what, **settled, **said}
