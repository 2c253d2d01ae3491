"""Stretches of an irregular clock in which something holds: blinks, held postures, turned heads."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt


@dataclass(frozen=True, slots=True, order=True)
class Run:
    """A stretch in which a condition holds.

    Parameters
    ----------
    onset_s, offset_s
        Start and end on the clock, seconds.
    first, last
        Index of the first and of the last sample that meets the condition.
    """

    onset_s: float
    offset_s: float
    first: int
    last: int

    @property
    def duration_s(self) -> float:
        """Length in seconds; 0 for a single sample whose edges were not interpolated."""
        return self.offset_s - self.onset_s

    @property
    def samples(self) -> slice:
        """The samples of the stretch, as a slice."""
        return slice(self.first, self.last + 1)


def true_runs(
    times: npt.ArrayLike,
    flags: npt.ArrayLike,
    min_s: float = 0.0,
    bridge_s: float = 0.0,
    max_step_s: float = float("inf"),
) -> tuple[Run, ...]:
    """Find the stretches in which `flags` is true.

    Parameters
    ----------
    times
        Clock, shape ``(time,)``, seconds, rising, spacing free.
    flags
        Shape ``(time,)``: bool, or float with 1 for true, 0 for false and NaN for unknown. NaN is never true.
    min_s
        Stretches shorter than this are left out (after bridging).
    bridge_s
        Two stretches are made one when the time between the last true sample of the first and the first true
        sample of the second is at most this, whether false or NaN lies between.
    max_step_s
        Two neighbouring samples further apart than this do not belong to one stretch.

    Returns
    -------
    tuple of Run
        In order of time. Edges are the times of the first and the last true sample.

    Examples
    --------
    >>> [(run.onset_s, run.offset_s) for run in true_runs([0.0, 0.1, 0.2, 0.5, 0.6], [0, 1, 1, 0, 1])]
    [(0.1, 0.2), (0.6, 0.6)]
    """
    clock = np.asarray(times, dtype=np.float64)
    truth = np.nan_to_num(np.asarray(flags, dtype=np.float64), nan=0.0) > 0
    runs = [Run(float(clock[a]), float(clock[b]), a, b) for a, b in _spans(clock, truth, bridge_s, max_step_s)]
    return tuple(run for run in runs if run.duration_s >= min_s)


def runs_above(
    times: npt.ArrayLike,
    signal: npt.ArrayLike,
    threshold: float,
    min_s: float = 0.0,
    bridge_s: float = 0.0,
    max_step_s: float = float("inf"),
) -> tuple[Run, ...]:
    """Find the stretches in which `signal` is above `threshold`, with edges between the samples.

    An edge lies where the straight line between the last sample at or below the threshold and the first one above
    it meets the threshold. Where the neighbour is NaN or too far away, or the data end, the edge is the sample's own
    time. For stretches below a threshold hand in both negated.

    Parameters
    ----------
    times
        Clock, shape ``(time,)``, seconds, rising, spacing free.
    signal
        Shape ``(time,)``; NaN is never above.
    threshold
        Level, in the unit of `signal`.
    min_s, bridge_s, max_step_s
        As in `true_runs`; `min_s` is compared with the interpolated length.

    Examples
    --------
    >>> [(run.onset_s, run.offset_s) for run in runs_above([0.0, 1.0, 2.0, 3.0], [0.0, 1.0, 1.0, 0.0], 0.5)]
    [(0.5, 2.5)]
    """
    clock = np.asarray(times, dtype=np.float64)
    values = np.asarray(signal, dtype=np.float64)
    near = np.concatenate(([False], np.diff(clock) <= max_step_s, [False]))
    found = []
    for first, last in _spans(clock, values > threshold, bridge_s, max_step_s):
        onset = _crossing(clock, values, threshold, first, first - 1) if near[first] else float(clock[first])
        offset = _crossing(clock, values, threshold, last, last + 1) if near[last + 1] else float(clock[last])
        found.append(Run(onset, offset, first, last))
    return tuple(run for run in found if run.duration_s >= min_s)


def _spans(
    clock: npt.NDArray[np.float64], truth: npt.NDArray[np.bool_], bridge_s: float, max_step_s: float
) -> list[tuple[int, int]]:
    index = np.flatnonzero(truth)
    if len(index) == 0:
        return []
    step = np.diff(clock[index])
    apart = (np.diff(index) > 1) | (step > max_step_s)
    cuts = np.flatnonzero(apart & (step > bridge_s))
    firsts = index[np.concatenate(([0], cuts + 1))]
    lasts = index[np.concatenate((cuts, [len(index) - 1]))]
    return [(int(first), int(last)) for first, last in zip(firsts, lasts, strict=True)]


def _crossing(
    clock: npt.NDArray[np.float64], values: npt.NDArray[np.float64], threshold: float, inside: int, outside: int
) -> float:
    if np.isnan(values[outside]):
        return float(clock[inside])
    share = (threshold - values[outside]) / (values[inside] - values[outside])
    return float(clock[outside] + share * (clock[inside] - clock[outside]))
