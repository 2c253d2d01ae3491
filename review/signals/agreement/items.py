"""The steps of a sheet as items of a test: how well one separates, and how well all hang together."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import numpy.typing as npt
from scipy.special import fdtri

from review.signals.agreement.figure import NORMAL_95, Figure, unsaid

REST_JUDGED: Final = 0.5
"""Share of the points of the other items that must be judged for an attempt to count; author's choice, no source."""

TOO_FEW: Final = "Fewer than four attempts count here; a correlation with its interval needs four."
NO_SPREAD: Final = "Everybody got the same here, so it separates nobody."
REST_ALIKE: Final = "All rests of the sheet have the same total, so there is nothing to go along with."


def discrimination(scores: npt.ArrayLike, item: int) -> Figure:
    """Return how well an item separates: its correlation with the total of all other items.

    The item itself is left out of the total, since it goes along with itself. The interval is Fisher's,
    ``tanh(atanh(r) +- 1.96 / sqrt(n - 3))``.

    Parameters
    ----------
    scores
        Points, shape ``(attempts, items)``; attempts with a gap are left out.
    item
        Which column.

    References
    ----------
    Corrected item-total correlation, as in Nunnally J. C., Bernstein I. H. (1994), Psychometric Theory, 3rd ed.
    (from memory); Fisher R. A. (1921), Metron 1:3-32 (from memory).
    """
    table = _whole(scores)
    count = len(table)
    own, rest = table[:, item], np.delete(table, item, axis=1).sum(axis=1)
    if count < 4:
        return unsaid("discrimination", count, TOO_FEW)
    if own.std() < 1e-12:
        return unsaid("discrimination", count, NO_SPREAD)
    if rest.std() < 1e-12:
        return unsaid("discrimination", count, REST_ALIKE)
    value = float(np.corrcoef(own, rest)[0, 1])
    if abs(value) > 1 - 1e-12:
        return Figure("discrimination", round(value), None, None, count, "It goes along exactly: no interval.")
    half = NORMAL_95 / math.sqrt(count - 3)
    return Figure(
        "discrimination", value, math.tanh(math.atanh(value) - half), math.tanh(math.atanh(value) + half), count
    )


def discrimination_with_gaps(shares: npt.ArrayLike, weights: npt.ArrayLike, item: int) -> Figure:
    """Return how well an item separates where some steps of some attempts were not judged.

    As `discrimination`, with the rest of an attempt as the share of its points: ``sum(w s) / sum(w)`` over the other
    items that were judged. Without gaps that is the total of the others over a constant, and the number is the same.
    An attempt counts where the item was judged, and `REST_JUDGED` of the others' points at least.

    Parameters
    ----------
    shares
        Share (0 to 1) of each item's points, NaN where it was not judged, shape ``(attempts, items)``.
    weights
        Points of each item, shape ``(items,)``.
    item
        Which column.
    """
    table, points = np.asarray(shares, np.float64), np.asarray(weights, np.float64)
    others = np.delete(np.arange(table.shape[1]), item)
    judged = np.isfinite(table[:, others]) * points[others]
    possible, whole = judged.sum(axis=1), float(points[others].sum())
    kept = np.isfinite(table[:, item]) & (possible > 0) & (possible >= REST_JUDGED * whole)
    won = np.nansum(table[np.ix_(kept, others)] * points[others], axis=1)
    return discrimination(np.column_stack([table[kept, item], won / possible[kept]]), 0)


def cronbach_alpha(scores: npt.ArrayLike) -> Figure:
    """Return Cronbach's alpha: how well the items of a sheet hang together.

    ``k / (k - 1) (1 - sum(var_item) / var_total)``; the interval after Feldt.

    Parameters
    ----------
    scores
        Points, shape ``(attempts, items)``; attempts with a gap are left out.

    References
    ----------
    Cronbach L. J. (1951), Psychometrika 16:297-334; Feldt L. S. (1965), Psychometrika 30:357-370 (from memory).
    """
    name = "Cronbach's alpha"
    table = _whole(scores)
    count, items = table.shape
    if count < 2 or items < 2:
        return unsaid(name, count, "At least two attempts graded in full and two items are needed.")
    whole = float(table.sum(axis=1).var(ddof=1))
    if whole < 1e-12:
        return unsaid(name, count, "All totals are the same, so nothing can be said of how items hang together.")
    value = items / (items - 1) * (1 - float(table.var(axis=0, ddof=1).sum()) / whole)
    freedom = (count - 1, (count - 1) * (items - 1))
    low = 1 - (1 - value) * float(fdtri(*freedom, 0.975))
    high = 1 - (1 - value) / float(fdtri(*freedom[::-1], 0.975))
    return Figure(name, value, low, high, count)


def _whole(scores: npt.ArrayLike) -> npt.NDArray[np.float64]:
    table = np.asarray(scores, np.float64)
    return np.asarray(table[np.isfinite(table).all(axis=1)])
