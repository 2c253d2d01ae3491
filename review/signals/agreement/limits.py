"""Limits of agreement: how far two people's totals of the same attempts lie apart, in the totals' own unit."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
from scipy.special import stdtrit

from review.signals.agreement.figure import NORMAL_95, Figure

TOO_FEW: Final = "Fewer than two attempts have a total from both; limits need at least two."
NO_SPREAD: Final = "The two totals differ by the same amount each time."
_BIAS, _LOW, _HIGH = "mean difference", "lower limit", "upper limit"


@dataclass(frozen=True, slots=True)
class Limits:
    """Mean difference of two people's totals, first less second, and the limits that hold 95 % of differences.

    `spread` is the standard deviation of the differences; None where it is not defined.
    """

    bias: Figure
    low: Figure
    high: Figure
    spread: float | None


def limits_of_agreement(first: npt.ArrayLike, second: npt.ArrayLike, factor: float = NORMAL_95) -> Limits:
    """Return the mean difference and ``mean +- factor sd``, each with its 95 % interval.

    The standard error of the mean is ``sd / sqrt(n)``, that of a limit ``sqrt(3 / n) sd``; intervals by Student's t.

    Parameters
    ----------
    first, second
        Totals of the same attempts, shape ``(attempts,)``; attempts with a gap are left out.
    factor
        1.96 for 95 % of differences; the paper itself takes 2.

    References
    ----------
    Bland J. M., Altman D. G. (1986), Lancet i:307-310.
    """
    apart = np.asarray(first, np.float64) - np.asarray(second, np.float64)
    apart = apart[np.isfinite(apart)]
    count = len(apart)
    if count < 2:
        return _alike(None, count, TOO_FEW)
    mean, spread = float(apart.mean()), float(apart.std(ddof=1))
    if spread < 1e-12:
        return _alike(mean, count, NO_SPREAD)
    wide = float(stdtrit(count - 1, 0.975)) * spread

    def sized(name: str, middle: float, share: float) -> Figure:
        return Figure(name, middle, middle - wide * math.sqrt(share), middle + wide * math.sqrt(share), count)

    return Limits(
        bias=sized(_BIAS, mean, 1 / count),
        low=sized(_LOW, mean - factor * spread, 3 / count),
        high=sized(_HIGH, mean + factor * spread, 3 / count),
        spread=spread,
    )


def _alike(value: float | None, count: int, note: str) -> Limits:
    bias, low, high = (Figure(name, value, None, None, count, note) for name in (_BIAS, _LOW, _HIGH))
    return Limits(bias, low, high, None if value is None else 0.0)
