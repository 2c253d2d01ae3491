"""Smoothing and gap filling by time, on a clock whose steps may differ; what is missing stays missing."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import scipy

Series = npt.NDArray[np.float64]

_LEAST_SAMPLES = 5


def fill_gaps(times: npt.ArrayLike, values: npt.ArrayLike, max_gap_s: float) -> Series:
    """Fill short gaps with the straight line between the samples on both sides.

    Parameters
    ----------
    times, values
        Clock in seconds (rising) and samples, both of shape ``(time,)``.
    max_gap_s
        Longest time between the two samples beside a gap that is still filled.

    Returns
    -------
    ndarray
        Copy of `values`. Longer gaps, and NaN before the first or after the last sample, stay NaN.

    Examples
    --------
    >>> fill_gaps([0.0, 0.1, 0.2, 0.3], [1.0, np.nan, 3.0, np.nan], 0.2)
    array([ 1.,  2.,  3., nan])
    """
    clock, samples = np.asarray(times, np.float64), np.array(values, np.float64)
    known = np.flatnonzero(np.isfinite(samples))
    for before, after in pairwise(known):
        if after - before > 1 and clock[after] - clock[before] <= max_gap_s + 1e-9:
            inside = slice(before + 1, after)
            samples[inside] = np.interp(clock[inside], clock[[before, after]], samples[[before, after]])
    return samples


def pieces(times: npt.ArrayLike, values: npt.ArrayLike, max_gap_s: float) -> tuple[npt.NDArray[np.intp], ...]:
    """Return the indices of the known samples, in runs whose neighbours lie at most `max_gap_s` apart."""
    clock = np.asarray(times, np.float64)
    known = np.flatnonzero(np.isfinite(np.asarray(values, np.float64)))
    if len(known) == 0:
        return ()
    return tuple(np.split(known, np.flatnonzero(np.diff(clock[known]) > max_gap_s + 1e-9) + 1))


def low_pass(times: npt.ArrayLike, values: npt.ArrayLike, cutoff_hz: float, max_gap_s: float = 0.25) -> Series:
    """Smooth without shifting in time: a Butterworth filter of second order, run forwards and backwards.

    Each run of samples is laid on an even clock of its own median step, filtered there and read back at its own
    times, so the cutoff is one of time and not of frames. The design frequency is raised so that the two passes
    together let half the power through at `cutoff_hz`.

    Parameters
    ----------
    times, values
        Clock in seconds (rising, steps may differ) and samples, both of shape ``(time,)``.
    cutoff_hz
        Frequency at which half of the power passes.
    max_gap_s
        Samples further apart than this are filtered as separate runs.

    Returns
    -------
    ndarray
        Shape ``(time,)``. NaN stays NaN; a run shorter than one period of `cutoff_hz`, or of fewer than five samples,
        is NaN. A clock too slow to hold anything above `cutoff_hz` leaves its values as they are.

    References
    ----------
    Winter D. A. (2009), Biomechanics and Motor Control of Human Movement, section on smoothing with a
    zero-lag Butterworth filter and the correction of its cutoff (from memory).
    """
    clock, samples = np.asarray(times, np.float64), np.asarray(values, np.float64)
    smooth = np.full(samples.shape, np.nan)
    for run in pieces(clock, samples, max_gap_s):
        if len(run) >= _LEAST_SAMPLES and clock[run[-1]] - clock[run[0]] >= 1 / cutoff_hz:
            smooth[run] = _low_pass_run(clock[run], samples[run], cutoff_hz)
    return smooth


def _low_pass_run(clock: Series, samples: Series, cutoff_hz: float) -> Series:
    span = float(clock[-1] - clock[0])
    count = round(span / float(np.median(np.diff(clock)))) + 1
    rate_hz = (count - 1) / span
    two_passes = (math.sqrt(2) - 1) ** 0.25
    if cutoff_hz >= 0.5 * rate_hz:
        return samples
    design_hz = rate_hz / math.pi * math.atan(math.tan(math.pi * cutoff_hz / rate_hz) / two_passes)
    grid = np.linspace(clock[0], clock[-1], count)
    sections = scipy.signal.butter(2, design_hz, fs=rate_hz, output="sos")
    padding = min(count - 1, math.ceil(2 * rate_hz / cutoff_hz))
    even = scipy.signal.sosfiltfilt(sections, np.interp(grid, clock, samples), padlen=padding)
    return np.asarray(np.interp(clock, grid, even), np.float64)


def speed(times: npt.ArrayLike, values: npt.ArrayLike) -> Series:
    """Return the rate of change, in units a second, from the samples on both sides (one side at the ends).

    NaN where the sample itself or a neighbour it needs is NaN; all NaN for fewer than two samples.
    """
    clock, samples = np.asarray(times, np.float64), np.asarray(values, np.float64)
    if len(samples) < 2:
        return np.full(samples.shape, np.nan)
    slope = np.gradient(samples, clock)
    return np.where(np.isfinite(samples), slope, np.nan)


def spread_in_time(times: npt.ArrayLike, flags: npt.ArrayLike, margin_s: float) -> npt.NDArray[np.bool_]:
    """Widen the stretches in which `flags` is true by `margin_s` on both sides.

    Parameters
    ----------
    times, flags
        Clock in seconds (rising) and truth values, both of shape ``(time,)``.
    margin_s
        Time within which a sample counts as true when a true one is near.
    """
    clock, truth = np.asarray(times, np.float64), np.asarray(flags, bool)
    before = np.searchsorted(clock, clock - margin_s - 1e-9)
    after = np.searchsorted(clock, clock + margin_s + 1e-9)
    counts = np.concatenate(([0], np.cumsum(truth)))
    return np.asarray(counts[after] > counts[before])
