"""Numbers as people say them: a value with its interval, its expectation, or the reason why there is none."""

from __future__ import annotations

import math

from review.domain.checklist import Target
from review.domain.measure import Measure
from review.domain.model import Estimate, Value


def said(number: float, spread: float) -> str:
    """Write a number with the decimals that its interval supports.

    Parameters
    ----------
    number
        The number.
    spread
        Width of its interval, same unit. The last digit kept is of the spread's own size, or one below it when the
        spread lies between 1 and 10.

    Examples
    --------
    >>> said(1.1234, 0.2), said(20.33, 0.6), said(412.3, 30.0), said(5.0, 0.0)
    ('1.1', '20.3', '412', '5')
    """
    if not math.isfinite(spread) or spread <= 0:
        return f"{number:.2f}".rstrip("0").rstrip(".") if number else "0"
    places = 1 if 1 <= spread < 10 else min(3, max(0, math.ceil(-math.log10(spread))))
    text = f"{number:.{places}f}"
    return text.lstrip("-") if float(text) == 0 else text


def value_words(of: Measure, estimate: Estimate, target: Target | None = None) -> str:
    """Say an estimate in one line: number, unit, 95 % interval and expectation; or why there is no number."""
    if estimate.value is None or estimate.low is None or estimate.high is None:
        reasons = " and ".join(reason.words for reason in estimate.reasons[:2]) or "cannot be told from this film"
        return f"no number: {reasons}{_expected(of, target)}"
    scale = 100.0 if _is_share(of) else 1.0
    low, high = estimate.low * scale, estimate.high * scale
    spread = high - low
    number, ends = said(estimate.value * scale, spread), f"{said(low, spread)} to {said(high, spread)}"
    return f"{number} {unit_words(of)}, 95 % {ends}{_expected(of, target)}"


def missed_words(of: Measure, value: Value) -> str:
    """Name the parts of a full performance that were not seen, such as "missed: left down"; empty for none."""
    if value.estimate.value is None:
        return ""
    seen = {event.kind for event in value.events}
    missed = [part.replace("_", " ") for part in of.parts if part not in seen]
    return f"missed: {', '.join(missed)}" if missed else ""


def unit_words(of: Measure) -> str:
    """Return the unit of a measure's values as it is said."""
    return of.unit_words or ("" if of.unit == "1" else of.unit)


def _is_share(of: Measure) -> bool:
    return of.unit == "1" and of.unit_words.startswith("%")


def _expected(of: Measure, target: Target | None) -> str:
    return f" (expected {target_words(of, target)})" if target else ""


def target_words(of: Measure, target: Target) -> str:
    """Say a target: "0.9 to 1.2", "at least 20 s", "at most 0.5"."""
    scale = 100.0 if _is_share(of) else 1.0
    low = None if target.low is None else said(target.low * scale, 0.0)
    high = None if target.high is None else said(target.high * scale, 0.0)
    unit = "%" if _is_share(of) else "" if of.unit == "1" else of.unit
    if low is None:
        text = f"at most {high}"
    elif high is None:
        text = f"at least {low}"
    elif low == high:
        text = str(low)
    else:
        text = f"{low} to {high}"
    return f"{text} {unit}".rstrip()
