"""Intraclass correlation: how reliable totals are that several raters gave to the same attempts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import numpy.typing as npt
from scipy.special import fdtri

from review.signals.agreement.figure import ONE_RATER, Figure, unsaid

Form = Literal["1,1", "2,1", "3,1", "1,k", "2,k", "3,k"]

TOO_FEW: Final = "Fewer than two attempts have a total from everyone; the correlation needs at least two."
ALL_THE_SAME: Final = "All totals are the same, so there is nothing to tell apart."
_NO_VALUE: Final = "The attempts do not differ, or the raters contradict each other, so that it has no value."
_NO_INTERVAL: Final = (
    "Its interval cannot be worked out: the raters differ by nothing but a shift, or contradict each other."
)
_NAN: Final = float("nan")


@dataclass(frozen=True, slots=True)
class Squares:
    """Mean squares of a table of targets by raters: between targets, within them, between raters, and the rest."""

    targets: int
    raters: int
    between: float
    within: float
    judges: float
    rest: float


def squares(totals: npt.ArrayLike) -> Squares:
    """Return the mean squares of a table without gaps, shape ``(targets, raters)``, at least two of each."""
    table = np.asarray(totals, np.float64)
    n, k = table.shape
    mean, rows, columns = table.mean(), table.mean(axis=1), table.mean(axis=0)
    between = k * float(((rows - mean) ** 2).sum()) / (n - 1)
    within = float(((table - rows[:, None]) ** 2).sum()) / (n * (k - 1))
    judges = n * float(((columns - mean) ** 2).sum()) / (k - 1)
    rest = float(((table - rows[:, None] - columns[None, :] + mean) ** 2).sum()) / ((n - 1) * (k - 1))
    return Squares(n, k, between, within, judges, rest)


def icc(totals: npt.ArrayLike, form: Form = "2,1") -> Figure:
    """Return an intraclass correlation with its 95 % interval.

    Forms after Shrout and Fleiss: *1* each attempt has raters of its own; *2* the same raters, a sample of all, whose
    shift against each other counts (agreement); *3* these raters only, a shift does not count (consistency). *,1* is
    for the total of one rater, *,k* for the mean of all of them. Attempts that lack a total are left out.

    Parameters
    ----------
    totals
        Shape ``(attempts, raters)``, NaN for gaps.
    form
        Which one.

    References
    ----------
    Shrout P. E., Fleiss J. L. (1979), Psychol. Bull. 86:420-428; interval of form 2 as in McGraw K. O., Wong S. P.
    (1996), Psychol. Methods 1:30-46 (from memory).
    """
    name = f"ICC({form})"
    table = np.asarray(totals, np.float64)
    if table.ndim != 2 or table.shape[1] < 2:
        return unsaid(name, 0, ONE_RATER)
    table = table[np.isfinite(table).all(axis=1)]
    if len(table) < 2:
        return unsaid(name, len(table), TOO_FEW)
    found = squares(table)
    if found.between + found.within < 1e-12:
        return unsaid(name, len(table), ALL_THE_SAME)
    value, low, high = _FORMS[form[0]](found)
    if form.endswith("k"):
        value, low, high = (stepped_up(one, found.raters) for one in (value, low, high))
    if not np.isfinite(value):
        return unsaid(name, len(table), _NO_VALUE)
    if not (np.isfinite(low) and np.isfinite(high) and low <= value <= high and low < high):
        return Figure(name, value, None, None, len(table), _NO_INTERVAL)
    return Figure(name, value, low, high, len(table))


def stepped_up(reliability: float, times: float) -> float:
    """Return the reliability of the mean of so many raters, or of a sheet so many times as long (Spearman, Brown).

    ``t r / (1 + (t - 1) r)``; -inf where that has no end.

    References
    ----------
    Spearman C. (1910), Br. J. Psychol. 3:271-295; Brown W. (1910), Br. J. Psychol. 3:296-322 (from memory).
    """
    under = 1 + (times - 1) * reliability
    return times * reliability / under if under > 1e-12 else float("-inf")


Ends = tuple[float, float, float]


def _ratio(part: float, whole: float) -> float:
    return part / whole if whole > 1e-12 else _NAN


def _by_ratio(found: Squares, noise: float, freedom: float) -> Ends:
    """Return ``(B - N) / (B + (k - 1) N)`` and its ends, from the ratio of the two mean squares."""
    n, k = found.targets, found.raters
    value = _ratio(found.between - noise, found.between + (k - 1) * noise)
    if noise < 1e-12:
        return value, _NAN, _NAN
    ratio = found.between / noise
    low, high = ratio / fdtri(n - 1, freedom, 0.975), ratio * fdtri(freedom, n - 1, 0.975)
    return value, float((low - 1) / (low + k - 1)), float((high - 1) / (high + k - 1))


def _one_way(found: Squares) -> Ends:
    return _by_ratio(found, found.within, found.targets * (found.raters - 1))


def _consistency(found: Squares) -> Ends:
    return _by_ratio(found, found.rest, (found.targets - 1) * (found.raters - 1))


def _agreement(found: Squares) -> Ends:
    n, k, between, judges, rest = found.targets, found.raters, found.between, found.judges, found.rest
    value = _ratio(between - rest, between + (k - 1) * rest + k * (judges - rest) / n)
    if rest < 1e-12 or not value < 1:
        return value, _NAN, _NAN
    share = k * value / (n * (1 - value))
    mixed = share * judges + (1 + share * (n - 1)) * rest
    under = (share * judges) ** 2 / (k - 1) + ((1 + share * (n - 1)) * rest) ** 2 / ((n - 1) * (k - 1))
    freedom = _ratio(mixed**2, under)
    upper, lower = float(fdtri(n - 1, freedom, 0.975)), float(fdtri(freedom, n - 1, 0.975))
    noise = k * judges + (k * n - k - n) * rest
    low = _ratio(n * (between - upper * rest), upper * noise + n * between)
    return value, low, _ratio(n * (lower * between - rest), noise + n * lower * between)


_FORMS: Final[dict[str, Callable[[Squares], Ends]]] = {"1": _one_way, "2": _agreement, "3": _consistency}
