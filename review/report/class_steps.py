"""Step by step over a class: how often it was done fully, how well it separates, how alike instructors grade it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from review.domain.checklist import NOT_ASSESSABLE, Checklist, Step
from review.domain.model import Person, Side
from review.report.alike import Ratings, by_step, figure_json
from review.report.class_attempts import ClassAttempt
from review.report.graded import Given, Place, share_of
from review.signals.agreement.items import discrimination_with_gaps
from review.signals.agreement.shares import wilson

Floats = npt.NDArray[np.float64]

KINDS: Final = ("fully", "partly", "not done", "not assessable")
"""What a grade comes to here: the best level of the scale, one between, the lowest one, or none at all."""


def steps(attempts: Sequence[ClassAttempt], people: Mapping[str, Person], all_of: Sequence[ClassAttempt]) -> Any:
    """Return one row a step and side, in the order of the newest attempt's sheet.

    Parameters
    ----------
    attempts
        Those that count, all of one scale.
    people
        Everybody by id.
    all_of
        Attempts over which instructors' agreement is counted.

    Returns
    -------
    list of dict
        Keys ``section, step, side, title, critical, points, graded, kinds`` (for each of `KINDS` ``kind``, ``count``
        and the share as a figure, None for "partly" on a scale of two levels), ``mean`` (share of the points),
        ``discrimination`` (a figure), ``agreed`` and ``of`` (pairs of instructors), ``covered``.
    """
    sheet = attempts[-1].graded.sheet
    counted = [one.counted() for one in attempts]
    places = [
        (section.title, step, side) for section in sheet.sections for step in section.steps for side in step.places
    ]
    shares = _shares(sheet, counted, [(step.id, side) for _, step, side in places])
    weights = np.array([step.points * step.weight for _, step, _ in places])
    alike = _alike(all_of, people)
    return [
        {
            "section": section,
            **_step(step, side),
            **_counts(sheet, [one[step.id, side] for one in counted if (step.id, side) in one]),
            "mean": _mean(shares[:, column]),
            "discrimination": figure_json(discrimination_with_gaps(shares, weights, column)),
            **alike.get((step.id, side), {"agreed": 0, "of": 0}),
            "covered": sum(one.graded.covered.get((step.id, side), 0) for one in attempts),
        }
        for column, (section, step, side) in enumerate(places)
    ]


def _step(step: Step, side: Side | None) -> dict[str, Any]:
    return {
        "step": step.id,
        "side": side,
        "title": step.titled(side),
        "critical": step.critical,
        "points": step.points,
    }


def kind_of(sheet: Checklist, level: str) -> str | None:
    """Return which of `KINDS` a level is; None for one that the scale does not have."""
    if level == NOT_ASSESSABLE:
        return "not assessable"
    keys = [one.key for one in sheet.scale.worth]
    if level not in keys:
        return None
    return "fully" if level == keys[0] else "not done" if level == keys[-1] else "partly"


def _counts(sheet: Checklist, given: Sequence[Given]) -> dict[str, Any]:
    kinds = [kind_of(sheet, one.level) for one in given]
    graded = sum(one is not None for one in kinds)
    asked = [kind for kind in KINDS if kind != "partly" or len(sheet.scale.worth) > 2]
    told = [{"kind": kind, "count": kinds.count(kind), **_share(kind, kinds.count(kind), graded)} for kind in asked]
    return {"graded": graded, "kinds": told}


def _share(kind: str, count: int, graded: int) -> dict[str, Any]:
    found = wilson(kind, count, graded)
    return {"share": found.value, "low": found.low, "high": found.high}


def _shares(sheet: Checklist, counted: Sequence[Mapping[Place, Given]], places: Sequence[Place]) -> Floats:
    """Return the share of each step's points in each attempt, NaN where it was not judged."""
    known = {level.key: share_of(sheet.scale, level.key) for level in sheet.scale.levels}
    table = np.full((len(counted), len(places)), np.nan)
    for row, given in enumerate(counted):
        for column, place in enumerate(places):
            share = known.get(given[place].level) if place in given else None
            if share is not None:
                table[row, column] = share
    return table


def _mean(shares: Floats) -> float | None:
    judged = shares[np.isfinite(shares)]
    return float(judged.mean()) if len(judged) else None


def _alike(attempts: Sequence[ClassAttempt], people: Mapping[str, Person]) -> dict[Place, dict[str, int]]:
    """Count by place how many pairs of instructors' blind grades are the same."""
    twice = [one.graded for one in attempts if len({given.person_id for given in one.graded.given}) > 1]
    raters = sorted({one.person_id for attempt in twice for one in attempt.given})
    if not raters:
        return {}
    titles = {place: title for attempt in twice for place, title in attempt.sheet.titles().items()}
    found = by_step(Ratings(twice, [people[one] for one in raters]), titles)
    return {(one["step"], one["side"]): {"agreed": one["agreed"], "of": one["of"]} for one in found}
