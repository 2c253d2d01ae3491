"""Coefficients for any number of raters, with gaps: Fleiss' kappa, Gwet's AC1 and AC2, Brennan and Prediger's."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import stdtrit

from review.signals.agreement.figure import NOTHING_SHARED, Figure, around, unsaid
from review.signals.agreement.kappa import same_or_not

Floats = npt.NDArray[np.float64]

ALL_THE_SAME = "All gave one and the same grade throughout: chance alone would agree as often. Read the counts."


@dataclass(frozen=True, slots=True)
class _Chance:
    """What agreement by chance is taken to be: in all, and for each thing's part of the standard error."""

    name: str
    expected: Callable[[Floats, Floats], float]
    each: Callable[[Floats, Floats, Floats], Floats]


def fleiss_kappa(counts: npt.ArrayLike) -> Figure:
    """Return Fleiss' kappa; for two raters it is Scott's pi.

    Chance is taken to give each level as often as all raters together did: ``sum(q[k]^2)``.

    Parameters
    ----------
    counts
        How many raters gave which level to which thing, shape ``(things, levels)``; things may have different numbers
        of raters.

    References
    ----------
    Fleiss J. L. (1971), Psychol. Bull. 76:378-382; Scott W. A. (1955), Public Opin. Q. 19:321-325; gaps and standard
    error as in Gwet K. L. (2014), Handbook of Inter-Rater Reliability, 4th ed. (from memory).
    """
    return _corrected(counts, None, _FLEISS)


def gwet_ac(counts: npt.ArrayLike, disagreement: npt.ArrayLike | None = None) -> Figure:
    """Return Gwet's AC1, or with weights AC2.

    Chance is taken to matter only for what is hard to tell: ``T / (L (L - 1)) sum(q[k] (1 - q[k]))`` for ``L`` levels
    and the sum ``T`` of the weights of agreement. It stays near the raw agreement where nearly all grades are alike,
    where kappa falls to 0.

    Parameters
    ----------
    counts
        As in `fleiss_kappa`; the number of columns is that of the levels of the scale, whether given or not.
    disagreement
        How bad it is to give one level for another, 0 on the diagonal; None for AC1.

    References
    ----------
    Gwet K. L. (2008), Br. J. Math. Stat. Psychol. 61:29-48 (from memory).
    """
    return _corrected(counts, disagreement, _GWET if disagreement is None else _GWET_WEIGHTED)


def uniform_kappa(counts: npt.ArrayLike) -> Figure:
    """Return Brennan and Prediger's coefficient: chance gives each of the levels equally often.

    For two raters and two levels it is twice the raw agreement less 1, known as PABAK.

    References
    ----------
    Brennan R. L., Prediger D. J. (1981), Educ. Psychol. Meas. 41:687-699; Byrt T. et al. (1993), J. Clin. Epidemiol.
    46:423-429 (from memory).
    """
    return _corrected(counts, None, _UNIFORM)


def _expected_by_use(weights: Floats, used: Floats) -> float:
    return float(used @ weights @ used)


def _each_by_use(weights: Floats, used: Floats, shares: Floats) -> Floats:
    return np.asarray(shares @ (weights @ used + used @ weights) / 2)


def _expected_by_doubt(weights: Floats, used: Floats) -> float:
    return float(weights.sum() / (len(used) * (len(used) - 1)) * (used * (1 - used)).sum())


def _each_by_doubt(weights: Floats, used: Floats, shares: Floats) -> Floats:
    return np.asarray(weights.sum() / (len(used) * (len(used) - 1)) * (shares @ (1 - used)))


def _expected_evenly(weights: Floats, used: Floats) -> float:
    return float(weights.mean())


def _each_evenly(weights: Floats, used: Floats, shares: Floats) -> Floats:
    return np.full(len(shares), weights.mean())


_FLEISS = _Chance("Fleiss' kappa", _expected_by_use, _each_by_use)
_GWET = _Chance("Gwet's AC1", _expected_by_doubt, _each_by_doubt)
_GWET_WEIGHTED = _Chance("Gwet's AC2", _expected_by_doubt, _each_by_doubt)
_UNIFORM = _Chance("Brennan-Prediger coefficient", _expected_evenly, _each_evenly)


def _corrected(counts: npt.ArrayLike, disagreement: npt.ArrayLike | None, chance: _Chance) -> Figure:
    """Return ``(seen - expected) / (1 - expected)`` with its interval by Student's t over the things."""
    given = np.asarray(counts, np.float64)
    given = given[given.sum(axis=1) > 0]
    sizes = given.sum(axis=1)
    shared = int((sizes >= 2).sum())
    if shared == 0:
        return unsaid(chance.name, 0, NOTHING_SHARED)
    levels = given.shape[1]
    off = np.asarray(same_or_not(levels) if disagreement is None else disagreement, np.float64)
    weights = 1 - off / off.max() if levels > 1 else np.ones((1, 1))
    shares = given / sizes[:, None]
    used = shares.mean(axis=0)
    expected = chance.expected(weights, used) if levels > 1 else 1.0
    if expected > 1 - 1e-12:
        return unsaid(chance.name, shared, ALL_THE_SAME)
    pairs = np.where(sizes >= 2, sizes * (sizes - 1), 1.0)
    same = (given * (given @ weights - 1)).sum(axis=1) / pairs
    same = np.where(sizes >= 2, same, 0.0)
    value = float((same.sum() / shared - expected) / (1 - expected))
    parts = len(given) / shared * (same - expected * (sizes >= 2)) / (1 - expected)
    each = chance.each(weights, used, shares)
    parts = parts - 2 * (1 - value) * (each - expected) / (1 - expected)
    return _sized(chance.name, value, parts, shared)


def _sized(name: str, value: float, parts: Floats, shared: int) -> Figure:
    things = len(parts)
    if things < 2:
        return Figure(name, value, None, None, shared, "One thing alone gives no interval.")
    error = math.sqrt(float(((parts - value) ** 2).sum()) / (things * (things - 1)))
    return around(name, value, error, shared, float(stdtrit(things - 1, 0.975)))
