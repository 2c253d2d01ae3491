"""Conger's kappa: several raters, each with margins of the rater's own, and gaps."""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt
from scipy.special import stdtrit

from review.signals.agreement.figure import NOTHING_SHARED, Figure, around, unsaid
from review.signals.agreement.several import ALL_THE_SAME

Floats = npt.NDArray[np.float64]

NAME: Final = "Conger's kappa"


def conger_kappa(ratings: npt.ArrayLike, levels: int) -> Figure:
    """Return Conger's kappa; for two raters without gaps it is Cohen's.

    Chance is what the raters would agree by if each kept to the rater's own margins: with the share ``p[g,k]`` of rater
    ``g``'s ratings that are level ``k``, of ``r`` raters, ``sum((mean p[k])^2 - var(p[k]) / r)`` over levels. The raw
    agreement is the mean over things that at least two graded. The interval is that of the jackknife over things, by
    Student's t.

    Parameters
    ----------
    ratings
        Places of levels, shape ``(things, raters)``, NaN for gaps.
    levels
        How many levels the scale has.

    References
    ----------
    Conger A. J. (1980), Psychol. Bull. 88:322-328; gaps as in Gwet K. L. (2014), Handbook of Inter-Rater Reliability,
    4th ed. (both from memory).
    """
    given = np.asarray(ratings, np.float64)
    given = given[np.isfinite(given).any(axis=1)][:, np.isfinite(given).any(axis=0)]
    chosen = given[:, :, None] == np.arange(levels)
    shared = int((np.isfinite(given).sum(axis=1) >= 2).sum())
    if shared == 0:
        return unsaid(NAME, 0, NOTHING_SHARED)
    value = _value(chosen)
    if not np.isfinite(value):
        return unsaid(NAME, shared, ALL_THE_SAME)
    things = len(given)
    left_out = np.array([_value(np.delete(chosen, one, axis=0)) for one in range(things)])
    if things < 3 or not np.isfinite(left_out).all():
        return Figure(NAME, value, None, None, shared, "Too few things, or too much alike, for an interval.")
    error = float(np.sqrt((things - 1) / things * ((left_out - left_out.mean()) ** 2).sum()))
    return around(NAME, value, error, shared, float(stdtrit(things - 1, 0.975)))


def _value(chosen: npt.NDArray[np.bool_]) -> float:
    """Return the coefficient of ratings as ``(things, raters, levels)``; NaN where it is not defined."""
    chosen = chosen[:, chosen.any(axis=(0, 2))]
    counts = chosen.sum(axis=1, dtype=np.float64)
    sizes = counts.sum(axis=1)
    counts, sizes = counts[sizes >= 2], sizes[sizes >= 2]
    raters = chosen.shape[1]
    if raters < 2 or not len(sizes):
        return float("nan")
    seen = float(((counts * (counts - 1)).sum(axis=1) / (sizes * (sizes - 1))).mean())
    each = chosen.sum(axis=0, dtype=np.float64)
    margins: Floats = each / each.sum(axis=1, keepdims=True)
    expected = float((margins.mean(axis=0) ** 2 - margins.var(axis=0, ddof=1) / raters).sum())
    return float("nan") if expected > 1 - 1e-12 else (seen - expected) / (1 - expected)
