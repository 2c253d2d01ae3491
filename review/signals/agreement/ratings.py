"""Who gave which level to what: the table that every coefficient is made of, and the agreement counted in it.

Ratings are an array of shape ``(things, raters)`` with the places of the levels on the scale, 0 being the first, and
NaN where a rater gave none.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from review.signals.agreement.figure import NOTHING_SHARED, ONE_RATER, Figure, unsaid
from review.signals.agreement.shares import wilson

Counts = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Agreed:
    """How often two people who graded the same thing gave the same level.

    Parameters
    ----------
    agreed, pairs
        Pairs of grades for one thing that are the same, of all pairs.
    things, raters
        Things that at least two people graded, and people who graded any of them.
    share
        The share of agreeing pairs: of things for two raters, with its interval after Wilson; for more the mean over
        things, without an interval, since the pairs of one thing hang together.
    """

    agreed: int
    pairs: int
    things: int
    raters: int
    share: Figure


def table_of(ratings: npt.ArrayLike, levels: int) -> Counts:
    """Count what two raters gave: rows the first one's levels, columns the second one's; gaps are left out.

    Parameters
    ----------
    ratings
        Shape ``(things, 2)``.
    levels
        How many levels the scale has.

    Returns
    -------
    array of int
        Shape ``(levels, levels)``.
    """
    both = np.asarray(ratings, np.float64).reshape(-1, 2)
    both = both[np.isfinite(both).all(axis=1)]
    cells = (both[:, 0] * levels + both[:, 1]).astype(np.int64)
    return np.bincount(cells, minlength=levels**2).reshape(levels, levels).astype(np.int64)


def counts_of(ratings: npt.ArrayLike, levels: int) -> Counts:
    """Count for each thing how many raters gave which level; shape ``(things, levels)``."""
    given = np.asarray(ratings, np.float64)
    return np.stack([(given == level).sum(axis=1) for level in range(levels)], axis=1).astype(np.int64)


def agreed(ratings: npt.ArrayLike) -> Agreed:
    """Count agreement before anything is taken off for chance.

    Parameters
    ----------
    ratings
        Shape ``(things, raters)``.
    """
    given = np.asarray(ratings, np.float64)
    levels = 1 + int(np.nanmax(given)) if np.isfinite(given).any() else 1
    counts = counts_of(given, levels)
    sizes = counts.sum(axis=1)
    shared = sizes >= 2
    counts, sizes = counts[shared], sizes[shared]
    same = (counts * (counts - 1)).sum(axis=1) // 2
    pairs = sizes * (sizes - 1) // 2
    raters = int(np.isfinite(given[shared]).any(axis=0).sum())
    totals = (int(same.sum()), int(pairs.sum()), len(sizes), raters)
    if not len(sizes):
        alone = np.isfinite(given).any(axis=0).sum() < 2
        return Agreed(*totals, unsaid("raw agreement", 0, ONE_RATER if alone else NOTHING_SHARED))
    if raters == 2:
        return Agreed(*totals, wilson("raw agreement", totals[0], totals[1]))
    return Agreed(*totals, Figure("raw agreement", float((same / pairs).mean()), None, None, len(sizes)))
