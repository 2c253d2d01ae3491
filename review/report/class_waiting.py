"""What waits in a class: attempts without a grade of the instructor who was asked, those that wait longest first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from review.domain.model import Person
from review.domain.sharing import Purpose, Request
from review.report.class_attempts import ClassAttempt

_AS = {Purpose.FIRST: "", Purpose.SECOND: " as the second"}


def waiting(attempts: Sequence[ClassAttempt], people: Mapping[str, Person], today: date) -> list[dict[str, Any]]:
    """Return one row an attempt that waits for an instructor, the oldest first.

    An attempt waits as long as an instructor who was asked has given it no grade; where nobody was asked as the first,
    as long as no instructor but a second rater has. Whether there is a grade is told of covered grades too; which one
    it is, is not.

    Returns
    -------
    list of dict
        Keys ``recording, name, learner, attempt, since`` (when it was handed in, else added), ``days, words`` (who was
        asked and gave no grade).
    """
    rows = [_row(one, open_requests(one), people, today) for one in attempts if _waits(one)]
    return sorted(rows, key=lambda row: (row["since"], row["recording"]))


def open_requests(one: ClassAttempt) -> list[Request]:
    """Return whom of an attempt's instructors it waits for: those who were asked and gave no grade."""
    return [
        request
        for request in one.recording.sharing.requests
        if request.purpose is not Purpose.PEER and request.person_id not in one.graders
    ]


def _waits(one: ClassAttempt) -> bool:
    seconds = {request.person_id for request in one.recording.sharing.requests if request.purpose is Purpose.SECOND}
    return bool(open_requests(one)) or not one.graders - seconds


def _row(one: ClassAttempt, asked: Sequence[Request], people: Mapping[str, Person], today: date) -> dict[str, Any]:
    since = one.recording.sharing.handed_in_at or one.recording.added_at
    names = [f"{people[request.person_id].code}{_AS[request.purpose]}" for request in asked]
    return {
        "recording": one.recording.id,
        "name": one.recording.name,
        "learner": one.learner.code,
        "attempt": one.recording.attempt,
        "since": since.isoformat(timespec="minutes"),
        "days": max(0, (today - since.date()).days),
        "words": _words(one, names),
    }


def _words(one: ClassAttempt, names: Sequence[str]) -> str:
    if not names:
        return "nobody is asked"
    first = any(request.purpose is Purpose.FIRST for request in one.recording.sharing.requests)
    return f"asked: {', '.join(names)}{'' if first else '; nobody as the first'}"
