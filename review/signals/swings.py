"""Movements away from rest and back: when they begin and end, told from the curve's own height."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import numpy.typing as npt

from review.signals.runs import Run, runs_above


def swings(
    times: npt.ArrayLike,
    curve: npt.ArrayLike,
    threshold: float,
    *,
    edge_share: float = 0.2,
    min_s: float = 0.0,
    bridge_s: float = 0.0,
    max_step_s: float = float("inf"),
) -> tuple[Run, ...]:
    """Find the stretches in which a curve goes above a threshold, and widen each to where the movement began and ended.

    An edge lies where the curve crosses ``edge_share`` of the stretch's own highest value, or at the lowest point
    between two stretches where it does not come down as far. A high threshold then keeps noise out without telling
    large movements late.

    Parameters
    ----------
    times
        Clock, shape ``(time,)``, seconds, rising, spacing free.
    curve
        Shape ``(time,)``, 0 at rest; NaN is never above.
    threshold
        Level, in the unit of `curve`, that a movement must pass.
    edge_share
        Share of the highest value at which the edges lie; never above the threshold.
    min_s, bridge_s, max_step_s
        As in `review.signals.runs.runs_above`, for the stretch above the threshold.

    Examples
    --------
    >>> [(run.onset_s, run.offset_s) for run in swings([0.0, 1.0, 2.0, 3.0, 4.0], [0.0, 5.0, 10.0, 5.0, 0.0], 8.0)]
    [(0.4, 3.6)]
    """
    clock, values = np.asarray(times, np.float64), np.asarray(curve, np.float64)
    tops = runs_above(clock, values, threshold, min_s=min_s, bridge_s=bridge_s, max_step_s=max_step_s)
    borders = [0, *(_lowest(values, one, other) for one, other in pairwise(tops)), len(values) - 1]
    return tuple(
        _widened(clock, values, top, slice(borders[place], borders[place + 1] + 1), (threshold, edge_share, max_step_s))
        for place, top in enumerate(tops)
    )


def _lowest(values: npt.NDArray[np.float64], one: Run, other: Run) -> int:
    between = values[one.last : other.first + 1]
    return one.last + (int(np.nanargmin(between)) if np.isfinite(between).any() else 0)


def _widened(
    clock: npt.NDArray[np.float64],
    values: npt.NDArray[np.float64],
    top: Run,
    within: slice,
    limits: tuple[float, float, float],
) -> Run:
    threshold, edge_share, max_step_s = limits
    level = min(threshold, edge_share * float(np.nanmax(values[top.samples])))
    around = runs_above(clock[within], values[within], level, max_step_s=max_step_s)
    first = next(run for run in around if run.first + within.start <= top.first <= run.last + within.start)
    last = next(run for run in around if run.first + within.start <= top.last <= run.last + within.start)
    return Run(first.onset_s, last.offset_s, first.first + within.start, last.last + within.start)
