"""What waits in a class: attempts without a grade of an instructor, those that wait longest first."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from review.report.class_attempts import ClassAttempt


def waiting(attempts: Sequence[ClassAttempt], today: date) -> list[dict[str, Any]]:
    """Return one row an attempt that no instructor has given a grade yet, the oldest first.

    Whether there is a grade is told of covered grades too; which one it is, is not.

    Returns
    -------
    list of dict
        Keys ``recording, name, learner, attempt, since, days, words``.
    """
    rows = [_row(one, today) for one in attempts if not one.graders]
    return sorted(rows, key=lambda row: (row["since"], row["recording"]))


def _row(one: ClassAttempt, today: date) -> dict[str, Any]:
    since = one.recording.added_at
    return {
        "recording": one.recording.id,
        "name": one.recording.name,
        "learner": one.learner.code,
        "attempt": one.recording.attempt,
        "since": since.isoformat(timespec="minutes"),
        "days": max(0, (today - since.date()).days),
        "words": "no instructor's grade yet",
    }
