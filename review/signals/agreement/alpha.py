"""Krippendorff's alpha: any number of raters, gaps, and levels that are names, an order or numbers."""

from __future__ import annotations

from typing import Final, Literal

import numpy as np
import numpy.typing as npt

from review.signals.agreement.figure import NOTHING_SHARED, Figure, unsaid
from review.signals.agreement.ratings import counts_of

Floats = npt.NDArray[np.float64]
Metric = Literal["nominal", "ordinal", "interval", "ratio"]

ALL_THE_SAME: Final = "All grades are the same, so there is no disagreement to compare with. Read the counts."
TOO_ALIKE: Final = "The grades are too much alike for an interval: many samples of them hold one grade only."
_SAMPLES: Final = 2000
_SEED: Final = 20260302


def krippendorff_alpha(
    ratings: npt.ArrayLike, levels: int, metric: Metric = "nominal", values: npt.ArrayLike | None = None
) -> Figure:
    """Return alpha: 1 less the disagreement seen, as a share of that expected by chance.

    ``1 - (n - 1) sum(o[c,k] d[c,k]) / sum(n[c] n[k] d[c,k])`` with the coincidences ``o`` of levels within things,
    their sums ``n[c]`` and ``n``, and a squared difference ``d`` after the metric: *nominal* 0 or 1; *ordinal* the
    grades that lie between two levels, each of the two counted half; *interval* the difference of values; *ratio* that
    difference over their sum. What only one rater graded drops out. The interval is that of 2000 samples of the things,
    drawn with replacement from a fixed start, so that it is the same each time (things that were graded alike are drawn
    together, which comes to the same).

    Parameters
    ----------
    ratings
        Places of levels, shape ``(things, raters)``, NaN for gaps.
    levels
        How many levels the scale has.
    metric
        What a difference between two levels is.
    values
        Value of each level for *interval* and *ratio*, shape ``(levels,)``; None for 0, 1, 2 and so on.

    References
    ----------
    Krippendorff K. (2004), Content Analysis, 2nd ed., chapter 11; sampling of things in place of his sampling of
    disagreements is common practice (from memory).
    """
    name = f"Krippendorff's alpha, {metric}"
    counts = counts_of(ratings, levels).astype(np.float64)
    counts = counts[counts.sum(axis=1) >= 2]
    things = len(counts)
    if things == 0:
        return unsaid(name, 0, NOTHING_SHARED)
    at = np.arange(levels, dtype=np.float64) if values is None else np.asarray(values, np.float64)
    value = _alpha(_coincidences(counts).sum(axis=0)[None], metric, at)[0]
    if not np.isfinite(value):
        return unsaid(name, things, ALL_THE_SAME)
    if things < 2:
        return Figure(name, float(value), None, None, things, "One thing alone gives no interval.")
    kinds, met = np.unique(counts, axis=0, return_counts=True)
    drawn = np.random.default_rng(_SEED).multinomial(things, met / things, size=_SAMPLES)
    sampled = _alpha(np.tensordot(drawn.astype(np.float64), _coincidences(kinds), axes=1), metric, at)
    known = sampled[np.isfinite(sampled)]
    if len(known) < 0.95 * _SAMPLES:
        return Figure(name, float(value), None, None, things, TOO_ALIKE)
    low, high = np.percentile(known, [2.5, 97.5]).tolist()
    if high - low < 1e-12:
        return Figure(name, float(value), None, None, things, "Its interval has no width.")
    return Figure(name, float(value), min(low, float(value)), max(high, float(value)), things)


def _coincidences(counts: Floats) -> Floats:
    """Return each thing's coincidences of levels, shape ``(things, levels, levels)``."""
    sizes = counts.sum(axis=1)
    pairs = counts[:, :, None] * counts[:, None, :]
    places = np.arange(counts.shape[1])
    pairs[:, places, places] -= counts
    return np.asarray(pairs / (sizes - 1)[:, None, None])


def _alpha(coincidences: Floats, metric: Metric, values: Floats) -> Floats:
    """Return alpha of each of several tables of coincidences; NaN where it is not defined."""
    sums = coincidences.sum(axis=2)
    total = sums.sum(axis=1)
    apart = _differences(sums, metric, values)
    seen = (coincidences * apart).sum(axis=(1, 2))
    expected = (sums[:, :, None] * sums[:, None, :] * apart).sum(axis=(1, 2))
    with np.errstate(invalid="ignore", divide="ignore"):
        found = 1 - (total - 1) * seen / expected
    return np.where(expected > 1e-12, found, np.nan)


def _differences(sums: Floats, metric: Metric, values: Floats) -> Floats:
    """Return squared differences of levels for each table, shape ``(tables, levels, levels)``."""
    if metric == "nominal":
        return np.broadcast_to(1 - np.eye(sums.shape[1]), (len(sums), sums.shape[1], sums.shape[1]))
    if metric == "ordinal":
        middle = np.cumsum(sums, axis=1) - sums / 2
        return np.asarray((middle[:, :, None] - middle[:, None, :]) ** 2)
    apart = values[:, None] - values[None, :]
    if metric == "ratio":
        together = values[:, None] + values[None, :]
        apart = np.divide(apart, together, out=np.zeros_like(apart), where=together != 0)
    return np.broadcast_to(apart**2, (len(sums), *apart.shape))
