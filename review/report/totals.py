"""Totals of attempts, and how far those of two people lie apart: limits of agreement and intraclass correlation."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any, Final

from review.domain.model import Person
from review.report.alike import figure_json, figure_words
from review.report.graded import Given, Graded, Place, share_of
from review.signals.agreement.icc import icc
from review.signals.agreement.limits import limits_of_agreement

ENOUGH: Final = 5
"""Fewer attempts with totals of both than this give the differences only; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Both:
    """Two people's totals of one attempt, in points of 100, over the steps that both of them graded."""

    recording_id: str
    attempt: int
    first: float
    second: float
    steps: int
    first_better: int
    second_better: int

    @property
    def apart(self) -> float:
        """First less second, in points of 100."""
        return self.first - self.second


def both_totals(attempt: Graded, first: Mapping[Place, Given], second: Mapping[Place, Given]) -> Both | None:
    """Return two people's totals of an attempt; None where no step with points was graded by both.

    Grades are those given before seeing others', where there are such. Steps that either of them found not assessable
    are left out.
    """
    if not first or not second:
        return None
    scale = attempt.sheet.scale
    points = {(step.id, side): step.points * step.weight for step in attempt.sheet.steps() for side in step.places}
    got = []
    for place in attempt.places:
        shares = [share_of(scale, one[place].blind or one[place].level) for one in (first, second) if place in one]
        if len(shares) == 2 and shares[0] is not None and shares[1] is not None:
            got.append((points[place], shares[0], shares[1]))
    whole = sum(weight for weight, _, _ in got)
    if not whole:
        return None
    return Both(
        recording_id=attempt.recording.id,
        attempt=attempt.recording.attempt,
        first=100 * sum(weight * one for weight, one, _ in got) / whole,
        second=100 * sum(weight * other for weight, _, other in got) / whole,
        steps=len(got),
        first_better=sum(one > other for _, one, other in got),
        second_better=sum(other > one for _, one, other in got),
    )


def totals(attempts: Sequence[Graded], first: Person, second: Person) -> dict[str, Any]:
    """Return how far two people's totals lie apart over attempts, as plain JSON values.

    Returns
    -------
    dict
        ``attempts`` (what `Both` holds), ``limits`` (lower limit, mean difference, upper limit as figures), ``icc`` (a
        figure) and ``words`` (sentences, counts first); figures are None where there are too few attempts.
    """
    met = (both_totals(one, one.by(first.id), one.by(second.id)) for one in attempts)
    found = [one for one in met if one is not None]
    told = {"attempts": [{**asdict(one), "apart": one.apart} for one in found], "limits": None, "icc": None}
    codes = f"{first.code} less {second.code}"
    if not found:
        return {**told, "words": []}
    if len(found) < ENOUGH:
        apart = ", ".join(signed(one.apart) for one in found)
        note = f"limits of agreement need {ENOUGH} attempts or more."
        return {**told, "words": [f"Totals, {codes}, in points of 100: {apart}; {note}"]}
    one, other = [both.first for both in found], [both.second for both in found]
    limits, correlation = limits_of_agreement(one, other), icc(list(zip(one, other, strict=True)), "2,1")
    return {
        **told,
        "limits": [figure_json(figure) for figure in (limits.low, limits.bias, limits.high)],
        "icc": figure_json(correlation),
        "words": [
            *_limits_words(limits.low.value, limits.bias.value, limits.high.value, codes, len(found)),
            figure_words(correlation),
        ],
    }


def signed(number: float, places: int = 1) -> str:
    """Write a difference with its sign, and 0 without one.

    Examples
    --------
    >>> signed(3.25), signed(-0.04), signed(-7.6, 0)
    ('+3.2', '0.0', '-8')
    """
    text = f"{number:+.{places}f}"
    return text if float(text) else text[1:]


def _limits_words(low: float | None, bias: float | None, high: float | None, codes: str, count: int) -> list[str]:
    if low is None or bias is None or high is None:
        return []
    first = f"Totals of {count} attempts, {codes}: {signed(bias)} points of 100 on the mean."
    if high - low < 1e-9:
        return [f"{first} They differ by the same amount each time."]
    return [f"{first} Of such differences 95 % lie between {signed(low)} and {signed(high)} (limits of agreement)."]
