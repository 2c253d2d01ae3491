"""Where each learner of a class stands by the sheet's own rule: what is, never what will be."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from review.domain.result import Outcome, Result, percent
from review.report.class_attempts import ClassAttempt

_STANDS: dict[Outcome, str] = {
    "passed": "passes",
    "not passed": "does not pass yet",
    "open": "open",
    "no rule": "no rule",
}


def learners(attempts: Sequence[ClassAttempt], today: date) -> list[dict[str, Any]]:
    """Return one row a learner, by code.

    What counts is the newest attempt that instructors graded, by what they gave last of each step.

    Parameters
    ----------
    attempts
        Of one sheet, oldest first.
    today
        The day from which on time is told.

    Returns
    -------
    list of dict
        Keys ``learner, attempts``; of the newest graded attempt ``attempt, recording, day, least, most`` (points of
        100), ``outcome, stands``, ``critical`` (titles of critical steps missed), ``missing`` (sentences), all None or
        empty where there is none; ``last_good`` (attempt and day of the last one that passes), ``waits`` (how many
        attempts no instructor has graded), ``covered``, ``words``.
    """
    found: dict[str, list[ClassAttempt]] = {}
    for one in attempts:
        found.setdefault(one.learner.code, []).append(one)
    return [_row(code, found[code], today) for code in sorted(found)]


def _row(code: str, own: Sequence[ClassAttempt], today: date) -> dict[str, Any]:
    newest = next((one for one in reversed(own) if one.graders), None)
    result = None if newest is None else newest.result
    good = _last_good(own, newest, result)
    told: dict[str, Any] = {
        "learner": code,
        "attempts": len(own),
        "attempt": newest and newest.recording.attempt,
        "recording": newest and newest.recording.id,
        "day": newest and newest.recording.added_at.date().isoformat(),
        **_standing(result),
        "last_good": good and {"attempt": good.recording.attempt, "day": good.recording.added_at.date().isoformat()},
        "waits": sum(not one.graders for one in own),
        "covered": newest.covered if newest else 0,
    }
    return {**told, "words": _words(told, good, today)}


def _standing(result: Result | None) -> dict[str, Any]:
    if result is None:
        return {"least": None, "most": None, "outcome": None, "stands": "", "critical": [], "missing": []}
    return {
        "least": None if result.least is None else 100 * result.least,
        "most": None if result.most is None else 100 * result.most,
        "outcome": result.outcome,
        "stands": _STANDS[result.outcome],
        "critical": list(result.missed),
        "missing": [] if result.outcome in ("passed", "no rule") else list(result.reasons),
    }


def _last_good(own: Sequence[ClassAttempt], newest: ClassAttempt | None, result: Result | None) -> ClassAttempt | None:
    """Return the last attempt that passes, looking no further back than is needed."""
    if result is not None and result.outcome in ("passed", "no rule"):
        return newest if result.outcome == "passed" else None
    for one in reversed(own):
        passed = one.result if one is not newest else None
        if passed is not None and passed.outcome == "passed":
            return one
    return None


def _words(told: dict[str, Any], good: ClassAttempt | None, today: date) -> str:
    if told["attempt"] is None:
        return "No attempt has an instructor's grade yet."
    if told["covered"]:
        grades = "1 grade is" if told["covered"] == 1 else f"{told['covered']} grades are"
        return f"{grades} covered until you have graded those steps of attempt {told['attempt']} yourself."
    begun = f"Attempt {told['attempt']} {_SAID[told['outcome']]}{_share(told)}."
    if told["outcome"] in ("passed", "no rule"):
        return begun
    if good is None:
        return f"{begun} No attempt has passed so far."
    days = (today - good.recording.added_at.date()).days
    ago = "today" if days <= 0 else "yesterday" if days == 1 else f"{days} days ago"
    return f"{begun} Attempt {good.recording.attempt} passed, {ago}."


_SAID: dict[Outcome, str] = {
    "passed": "passes by the sheet's rule",
    "not passed": "does not pass by the sheet's rule yet",
    "open": "is open by the sheet's rule",
    "no rule": "is graded; the sheet has no pass rule",
}


def _share(told: dict[str, Any]) -> str:
    if told["least"] is None or told["most"] is None:
        return ""
    least, most = percent(told["least"] / 100), percent(told["most"] / 100)
    return f", with {least} of the points" if least == most else f", with between {least} and {most} of the points"
