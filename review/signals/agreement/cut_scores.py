"""Where to draw the line: cut scores by a named method, with the caution that few learners make it unsteady."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import numpy.typing as npt
from scipy.special import stdtrit

from review.signals.agreement.figure import Figure, unsaid

FEW: Final = 10
"""Below so many learners a cut score is called unsteady; common practice, no source."""

UNSTEADY: Final = f"Fewer than {FEW} learners: the cut would move much with the next one."


def borderline_regression(ratings: npt.ArrayLike, totals: npt.ArrayLike, borderline: float) -> Figure:
    """Return the total that a learner rated as borderline is expected to reach, by a straight line.

    Ordinary least squares of totals on global ratings; the interval is that of the line at `borderline`.

    Parameters
    ----------
    ratings, totals
        Global rating and total of each learner, shape ``(learners,)``.
    borderline
        The rating that stands for borderline. That the ratings are evenly spaced is the method's own assumption, and
        examiners are known not to keep to it.

    References
    ----------
    As used in Hejri S. M. et al. (2013), J. Res. Med. Sci. 18:887-891.
    """
    name = "borderline regression"
    x, y = np.asarray(ratings, np.float64), np.asarray(totals, np.float64)
    count = len(x)
    if count < 3 or x.std() < 1e-12:
        return unsaid(name, count, "At least three learners with different global ratings are needed.")
    slope, start = np.polyfit(x, y, 1).tolist()
    cut = start + slope * borderline
    noise = math.sqrt(float(((y - start - slope * x) ** 2).sum()) / (count - 2))
    error = noise * math.sqrt(1 / count + (borderline - float(x.mean())) ** 2 / float(((x - x.mean()) ** 2).sum()))
    return _sized(name, cut, error, count, count - 2, count)


def borderline_group(ratings: npt.ArrayLike, totals: npt.ArrayLike, borderline: float) -> Figure:
    """Return the mean total of those who were rated as borderline."""
    name = "borderline group"
    chosen = np.asarray(totals, np.float64)[np.asarray(ratings, np.float64) == borderline]
    count = len(chosen)
    if count < 2:
        return unsaid(name, count, "Fewer than two learners were rated as borderline.")
    return _sized(name, float(chosen.mean()), float(chosen.std(ddof=1)) / math.sqrt(count), count, count - 1, count)


def angoff(judgements: npt.ArrayLike) -> Figure:
    """Return the cut after Angoff: the mean over judges of what a learner who just passes would get in all.

    Parameters
    ----------
    judgements
        Chance that such a learner does an item, shape ``(judges, items)``.

    References
    ----------
    Angoff W. H. (1971), Scales, norms, and equivalent scores, in Educational Measurement, 2nd ed. (from memory).
    """
    totals = np.asarray(judgements, np.float64).sum(axis=1)
    count = len(totals)
    if count < 2:
        return unsaid("Angoff", count, "One judge alone gives no cut; at least two are needed.")
    error = float(totals.std(ddof=1)) / math.sqrt(count)
    return _sized("Angoff", float(totals.mean()), error, count, count - 1, FEW)


def _sized(name: str, cut: float, error: float, count: int, freedom: int, learners: int) -> Figure:
    half = float(stdtrit(freedom, 0.975)) * error
    note = UNSTEADY if learners < FEW else ""
    if half < 1e-12:
        return Figure(name, cut, None, None, count, note)
    return Figure(name, cut, cut - half, cut + half, count, note)
