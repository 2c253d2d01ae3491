"""Judging oneself: a learner's own grades beside an instructor's, attempt by attempt."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

from review.domain.checklist import NOT_ASSESSABLE
from review.domain.model import Person, Role
from review.domain.wording import counted
from review.report.choosing import attempt_json
from review.report.graded import Given, Graded, Place
from review.report.totals import Both, both_totals, signed

CLOSE: Final = 5.0
"""Totals that differ by no more points of 100 are called alike; author's choice, no source."""

SURE: Final = 3
"""The confidence that stands for "sure"."""


def calibration(attempts: Sequence[Graded], learner: Person, people: Mapping[str, Person]) -> dict[str, Any]:
    """Return a learner's own totals less the instructor's over attempts, with words, as plain JSON values.

    Where several instructors graded a step, the grade given last counts.

    Returns
    -------
    dict
        ``attempts``: for each that both graded ``own``, ``instructor`` (points of 100), ``apart``, ``steps``,
        ``higher``, ``lower``, ``sure``, ``sure_apart`` and ``words``; ``words``: sentences on all of them.
    """
    rows = []
    for attempt in attempts:
        own, theirs = attempt.by(learner.id), instructors(attempt, people)
        both = both_totals(attempt, own, theirs)
        if both is not None:
            rows.append(_row(attempt, both, own, theirs, learner, people))
    return {"learner": learner.code, "attempts": rows, "words": _over_time(rows, learner)}


def instructors(attempt: Graded, people: Mapping[str, Person]) -> dict[Place, Given]:
    """Return the grade that an instructor gave last, by place."""
    return _latest(one for one in _by_others(attempt) if people[one.person_id].role is Role.INSTRUCTOR)


def peers(attempt: Graded, people: Mapping[str, Person]) -> dict[Place, Given]:
    """Return the grade that anybody gave last who is neither the learner nor an instructor, by place."""
    return _latest(one for one in _by_others(attempt) if people[one.person_id].role is not Role.INSTRUCTOR)


def _by_others(attempt: Graded) -> list[Given]:
    return [one for one in attempt.given if one.person_id != attempt.recording.added_by]


def _latest(given: Iterable[Given]) -> dict[Place, Given]:
    return {one.place: one for one in sorted(given, key=lambda one: one.at)}


def _row(
    attempt: Graded,
    both: Both,
    own: Mapping[Place, Given],
    theirs: Mapping[Place, Given],
    learner: Person,
    people: Mapping[str, Person],
) -> dict[str, Any]:
    sure = [
        place
        for place, one in own.items()
        if one.confidence == SURE and place in theirs and NOT_ASSESSABLE not in (one.level, theirs[place].level)
    ]
    parted = sum((own[place].blind or own[place].level) != theirs[place].level for place in sure)
    codes = sorted({people[one.person_id].code for place, one in theirs.items() if place in own})
    facts = {
        "own": both.first,
        "instructor": both.second,
        "apart": both.apart,
        "steps": both.steps,
        "higher": both.first_better,
        "lower": both.second_better,
        "sure": len(sure),
        "sure_apart": parted,
        "instructors": codes,
    }
    return {**attempt_json(attempt.recording), **facts, "words": _words(facts, learner)}


def _words(row: Mapping[str, Any], learner: Person) -> list[str]:
    steps = counted(row["steps"], "step")
    by = " and ".join(row["instructors"])
    told = [
        f"{learner.code} gave {row['own']:.0f} of 100 points, {by} {row['instructor']:.0f}, on the {steps} both "
        f"graded: {_apart(row['apart'])}."
    ]
    if row["higher"] or row["lower"]:
        told.append(f"{learner.code} graded {_count(row['higher'])} higher and {_count(row['lower'])} lower.")
    if row["sure"]:
        told.append(f"Of {_count(row['sure'])} where {learner.code} was sure, {row['sure_apart']} got another grade.")
    return told


def _apart(points: float) -> str:
    if abs(points) < 0.5:
        return "the same"
    return f"{abs(points):.0f} too {'many' if points > 0 else 'few'} by the instructor's measure"


def _count(number: int) -> str:
    return {0: "no step", 1: "1 step"}.get(number, f"{number} steps")


def _over_time(rows: Sequence[Mapping[str, Any]], learner: Person) -> list[str]:
    if not rows:
        return []
    first, last = rows[0]["apart"], rows[-1]["apart"]
    if len(rows) == 1:
        return [_leaning(last, learner)]
    span = f"From attempt {rows[0]['attempt']} to {rows[-1]['attempt']}"
    course = f"{span} the difference went from {signed(first, 0)} to {signed(last, 0)}"
    if abs(last) < abs(first) - 1:
        change = "own judgement and the instructor's come closer"
    elif abs(last) > abs(first) + 1:
        change = "own judgement and the instructor's move apart"
    else:
        change = "it stays as wide"
    return [f"{course} points of 100: {change}.", _leaning(sum(one["apart"] for one in rows) / len(rows), learner)]


def _leaning(apart: float, learner: Person) -> str:
    if abs(apart) <= CLOSE:
        return f"On the mean {learner.code} judges about as the instructor does."
    if apart > 0:
        return f"On the mean {learner.code} judges too kindly: look at the steps where the instructor gave less."
    return f"On the mean {learner.code} judges too strictly: look at the steps where the instructor gave more."
