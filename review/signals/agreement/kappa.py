"""Cohen's kappa for two raters, plain and weighted."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from review.signals.agreement.figure import NOTHING_SHARED, Figure, around, unsaid

Floats = npt.NDArray[np.float64]

ALL_THE_SAME = "Both gave one and the same grade throughout: chance alone would agree as often. Read the counts."
ONE_IS_CONSTANT = "One of the two gave the same grade every time, which makes kappa 0 however often they agree."


def same_or_not(levels: int) -> Floats:
    """Return disagreement weights that tell only whether two levels differ; shape ``(levels, levels)``."""
    return 1.0 - np.eye(levels)


def linear(levels: int) -> Floats:
    """Return disagreement weights that grow with the steps between two levels (Cicchetti and Allison)."""
    return distances(np.arange(levels))


def quadratic(levels: int) -> Floats:
    """Return disagreement weights that grow with the square of the steps between two levels (Fleiss and Cohen)."""
    return linear(levels) ** 2


def distances(places: npt.ArrayLike) -> Floats:
    """Return disagreement weights from where the levels lie, such as their share of a step's points."""
    at = np.asarray(places, np.float64)
    return np.asarray(np.abs(at[:, None] - at[None, :]))


def cohen_kappa(table: npt.ArrayLike, disagreement: npt.ArrayLike | None = None) -> Figure:
    """Return kappa: the agreement above that of chance, as a share of what is possible above chance.

    ``1 - sum(v p) / sum(v e)`` with the shares ``p`` of the table, ``e`` the products of its margins, and the weights
    ``v`` of disagreement. Its standard error is that for a kappa other than 0 (Fleiss, Cohen and Everitt), with the
    weights scaled to at most 1; the interval is cut at -1 and 1.

    Parameters
    ----------
    table
        Counts, rows the first rater's levels, columns the second one's; shape ``(levels, levels)``.
    disagreement
        How bad it is to give one level for another, 0 on the diagonal; None for plain kappa. These are weights of
        *disagreement*: weights of agreement would give a wrong number without an error.

    Raises
    ------
    ValueError
        If the weights are not 0 on the diagonal, are negative, or have another shape than the table.

    References
    ----------
    Cohen J. (1960), Educ. Psychol. Meas. 20:37-46; Cohen J. (1968), Psychol. Bull. 70:213-220; Fleiss J. L., Cohen J.,
    Everitt B. S. (1969), Psychol. Bull. 72:323-327 (from memory; the numbers are held against printed ones in tests).
    """
    counts = np.asarray(table, np.float64)
    weights = _checked(disagreement, counts.shape[0])
    name = "Cohen's kappa" if disagreement is None else "weighted kappa"
    total = counts.sum()
    if total == 0:
        return unsaid(name, 0, NOTHING_SHARED)
    shares = counts / total
    rows, columns = shares.sum(axis=1), shares.sum(axis=0)
    by_chance = float(rows @ weights @ columns)
    if by_chance < 1e-12:
        return unsaid(name, int(total), ALL_THE_SAME)
    value = 1 - float((weights * shares).sum()) / by_chance
    figure = around(name, value, _error(shares, 1 - weights / weights.max(), float(total)), int(total))
    constant = (rows > 0).sum() == 1 or (columns > 0).sum() == 1
    return unsized(figure, ONE_IS_CONSTANT) if constant else figure


def unsized(figure: Figure, note: str) -> Figure:
    """Return a figure with a sentence in place of its interval."""
    return Figure(figure.name, figure.value, None, None, figure.count, note)


def _error(shares: Floats, agreement: Floats, total: float) -> float:
    """Return the standard error by weights of agreement, of which the largest is 1."""
    rows, columns = shares.sum(axis=1), shares.sum(axis=0)
    seen = float((agreement * shares).sum())
    chance = float(rows @ agreement @ columns)
    spread = (agreement @ columns)[:, None] + (rows @ agreement)[None, :]
    first = float((shares * (agreement * (1 - chance) - spread * (1 - seen)) ** 2).sum())
    variance = (first - (seen * chance - 2 * chance + seen) ** 2) / (total * (1 - chance) ** 4)
    return math.sqrt(max(0.0, variance))


def _checked(disagreement: npt.ArrayLike | None, levels: int) -> Floats:
    if disagreement is None:
        return same_or_not(levels)
    weights = np.asarray(disagreement, np.float64)
    if weights.shape != (levels, levels) or np.diag(weights).any() or (weights < 0).any():
        raise ValueError(
            f"Weights of shape {weights.shape} came; expected {levels} x {levels} weights of disagreement: 0 on the "
            "diagonal, none negative."
        )
    return weights
