"""Where the line would lie on a sheet: by borderline regression and by Angoff's method, each with its caution."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from review.domain.checklist import Checklist
from review.domain.model import Person
from review.domain.result import percent
from review.domain.standard import BORDERLINE, OVERALL, Expectation, Overall
from review.report.alike import figure_json
from review.report.class_attempts import ClassAttempt
from review.signals.agreement.cut_scores import FEW, angoff, borderline_regression
from review.signals.agreement.figure import Figure

CAUTION: Final = (
    "A cut score is a proposal to the people who set the course's rule, never the rule itself: what passes is decided "
    "by the sheet's own rule until they change it."
)
FEW_LEARNERS: Final = f"Fewer than {FEW} learners: no cut score is steady, whatever the method."


def cut_scores(
    attempts: Sequence[ClassAttempt],
    overall: Sequence[Overall],
    expectations: Sequence[Expectation],
    people: Mapping[str, Person],
    person: Person,
) -> dict[str, Any]:
    """Return both cut scores with what they rest on, in points of 100, as plain JSON values.

    Parameters
    ----------
    attempts
        Those that count, all of one scale; not empty.
    overall
        Instructors' overall ratings of them. Each counts with the points of the attempt as instructors graded it, once
        all of it is graded; ratings of attempts that are covered for the person do not count.
    expectations
        What instructors expect of a borderline learner at the sheet.
    people, person
        Everybody by id, and who looks.

    Returns
    -------
    dict
        ``levels`` of the overall rating, ``regression`` and ``angoff`` (each a figure with ``words``), ``rated`` (one
        row an attempt that the person graded: ``recording, learner, attempt, rating``; without its points, which the
        rating is not to be given by), ``expected`` (one row a step: ``step, side, title, points, chance`` in percent,
        None where the person said nothing), ``caution``.
    """
    sheet = attempts[-1].graded.sheet
    learners = len({one.learner.id for one in attempts})
    points = {one.recording.id: _points(one) for one in attempts}
    return {
        "levels": [{"rating": rating, "words": words} for rating, words in OVERALL.items()],
        "regression": _regression(overall, points, learners),
        "angoff": _angoff(sheet, expectations, people, learners),
        "rated": [
            _rated(one, overall, person)
            for one in sorted(attempts, key=lambda one: (one.learner.code, one.recording.attempt))
            if person.id in one.graders
        ],
        "expected": _expected(sheet, expectations, person),
        "caution": CAUTION,
    }


def _points(one: ClassAttempt) -> float | None:
    result = one.result
    return None if result is None or result.share is None else 100 * result.share


def _regression(overall: Sequence[Overall], points: Mapping[str, float | None], learners: int) -> dict[str, Any]:
    counted = [one for one in overall if one.recording_id in points]
    met = [(float(one.rating), points[one.recording_id]) for one in counted if points[one.recording_id] is not None]
    ratings, totals = [rating for rating, _ in met], [float(total) for _, total in met if total is not None]
    figure = borderline_regression(ratings, totals, BORDERLINE)
    rest = f"{len(met)} overall ratings of attempts that count."
    if len(met) < len(counted):
        rest += f" {len(counted) - len(met)} more are left out, as not all steps of those attempts are graded, or seen."
    return _told(figure, rest, learners)


def _angoff(
    sheet: Checklist, expectations: Sequence[Expectation], people: Mapping[str, Person], learners: int
) -> dict[str, Any]:
    """Return Angoff's cut from those instructors who said something of every step, in points of 100."""
    weights = {(step.id, side): step.points * step.weight for step in sheet.steps() for side in step.places}
    said: dict[str, dict[Any, float]] = {}
    for one in expectations:
        if (one.step_id, one.side) in weights:
            said.setdefault(one.person_id, {})[one.step_id, one.side] = one.chance
    whole = {who: given for who, given in said.items() if len(given) == len(weights)}
    scale = 100 / (sum(weights.values()) or 1.0)
    table = [[given[place] * weight * scale for place, weight in weights.items()] for given in whole.values()]
    codes = ", ".join(sorted(people[who].code for who in whole)) or "nobody"
    begun = len(said) - len(whole)
    rest = f"Every step was judged by: {codes}." + (f" {begun} further began." if begun else "")
    return _told(angoff(table or [[0.0]]), rest, learners)


def _told(figure: Figure, rest: str, learners: int) -> dict[str, Any]:
    words = [rest]
    if figure.value is not None:
        ends = ""
        if figure.low is not None and figure.high is not None:
            ends = f", 95 % {percent(max(0.0, figure.low / 100))} to {percent(min(1.0, figure.high / 100))}"
        words.insert(0, f"Cut at {percent(figure.value / 100)} of the points{ends}.")
    words += [figure.note] if figure.note else []
    words += [FEW_LEARNERS] if learners < FEW and FEW_LEARNERS not in words else []
    return {**figure_json(figure), "words": words}


def _rated(one: ClassAttempt, overall: Sequence[Overall], person: Person) -> dict[str, Any]:
    own = next((x.rating for x in overall if (x.recording_id, x.person_id) == (one.recording.id, person.id)), None)
    return {
        "recording": one.recording.id,
        "learner": one.learner.code,
        "attempt": one.recording.attempt,
        "rating": own,
    }


def _expected(sheet: Checklist, expectations: Sequence[Expectation], person: Person) -> list[dict[str, Any]]:
    own = {(one.step_id, one.side): 100 * one.chance for one in expectations if one.person_id == person.id}
    return [
        {
            "step": step.id,
            "side": side,
            "title": step.titled(side),
            "points": step.points,
            "chance": own.get((step.id, side)),
        }
        for step in sheet.steps()
        for side in step.places
    ]
