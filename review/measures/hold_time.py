"""How long the feet stood together while both eyes were shut: the longest unbroken stretch."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.construction import Part
from review.domain.measure import Measure, Need, with_reasons
from review.domain.model import Estimate, Event, Interval, Reason
from review.measures.drawn import lids
from review.measures.eye_closure import closed_by_eye, closures
from review.measures.stance_width import TOGETHER, stance_drawn, stance_width
from review.signals.estimates import reason_codes, stated, unstated
from review.signals.filtering import fill_gaps
from review.signals.runs import Run, runs_above, true_runs
from review.signals.uncertainty import Bounded

Series = npt.NDArray[np.float64]

APART: Final = 0.55
"""Above this ratio feet that stood together count as apart again."""

_EDGE_S = 0.15
_HOLE_S = 0.5
_LEAST_FRAMES = 5
_EVENT_MIN_S = 1.0


def together(times: npt.ArrayLike, ratio: npt.ArrayLike) -> Series:
    """Tell when the feet stood together: from below 0.45 shoulder widths until above 0.55.

    Two levels keep a ratio that trembles about one of them from counting as many steps.

    Parameters
    ----------
    times, ratio
        Clock in seconds and stance width in shoulder widths, shape ``(time,)``.

    Returns
    -------
    ndarray
        1 together, 0 apart, NaN where the ratio is NaN.

    Examples
    --------
    >>> together([0.0, 1.0, 2.0, 3.0], [0.5, 0.4, 0.5, 0.6])
    array([0., 1., 1., 0.])
    """
    clock, width = np.asarray(times, np.float64), np.asarray(ratio, np.float64)
    state = np.where(np.isfinite(width), 0.0, np.nan)
    for run in true_runs(clock, width <= APART):
        near = np.flatnonzero(width[run.samples] < TOGETHER)
        if len(near):
            state[run.first + near[0] : run.last + 1] = 1.0
    return state


def hold_time(tracks: xr.Dataset) -> xr.DataArray:
    """Whether the posture was held: 1 while the feet stood together and both eyes were shut, else 0.

    Feet by `together` from `stance_width`, eyes by the closures of the less shut eye of `closed_by_eye`. Between
    looks up to half a second apart both are taken to go on in a straight line.

    Shape ``(time,)``, unit 1. NaN where one of the two cannot be seen and the other does not already say no, and
    throughout when one of them is never seen; the reason is that of the part that is missing. Pose at 5 and face at 15
    looks a second or more.

    References
    ----------
    Common practice, no source: the sheet says how long the posture should last.
    """
    clock = tracks["time"].values
    stance, lids = stance_width(tracks), closed_by_eye(tracks)
    feet = together(clock, fill_gaps(clock, stance.values, _HOLE_S))
    eyes = _shut(clock, fill_gaps(clock, lids.min("side", skipna=False).values, _HOLE_S))
    both_parts = np.isfinite(feet).any() and np.isfinite(eyes).any()
    no = ((feet == 0) | (eyes == 0)) & both_parts
    held = np.where(no, 0.0, np.where((feet == 1) & (eyes == 1), 1.0, np.nan))
    missing = np.where(np.isfinite(feet), reason_codes(lids), reason_codes(stance))
    reasons = np.where(np.isfinite(held), int(Reason.NONE), missing)
    return with_reasons(xr.DataArray(held, dims="time", coords={"time": tracks["time"]}), reasons, "1")


def _shut(clock: Series, closed: Series) -> Series:
    state = np.where(np.isfinite(closed), 0.0, np.nan)
    for run in closures(clock, closed):
        state[run.samples] = 1.0
    return state


def _runs(trace: xr.DataArray, unknown: float) -> tuple[Run, ...]:
    """Return the stretches in which the posture was held; holes too long to fill count as `unknown`."""
    seen = np.flatnonzero(reason_codes(trace) != int(Reason.NOT_LOOKED))
    clock = trace["time"].values[seen]
    state = fill_gaps(clock, trace.values[seen], _HOLE_S)
    return runs_above(clock, np.nan_to_num(state, nan=unknown), 0.5)


def longest_hold(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return the length of the longest stretch in seconds, 0 when the posture was never taken up.

    The 95 % interval: the lower end takes off the error of the two edges (0.15 s or one look each, joined in
    quadrature); the upper end adds it to the longest stretch that results when every moment that cannot be judged
    counts as held. The evidence is the longest stretch.
    """
    known = np.isfinite(trace.values)
    if known.sum() < _LEAST_FRAMES:
        return (unstated(trace),)
    error = math.sqrt(2) * max(_EDGE_S, float(np.median(np.diff(trace["time"].values[known]))))
    longest = max(_runs(trace, 0.0), key=lambda run: run.duration_s, default=None)
    at_most = max((run.duration_s for run in _runs(trace, 1.0)), default=0.0)
    if longest is None:
        high = at_most + error if at_most else 0.0
        return (stated(trace, Bounded(0.0, 0.0, high), weak=(Reason.POSTURE_NOT_HELD,), rests_on=()),)
    value = longest.duration_s
    number = Bounded(value, max(0.0, value - error), max(value, at_most) + error)
    return (stated(trace, number, rests_on=(Interval(longest.onset_s, longest.offset_s),)),)


def holds(trace: xr.DataArray) -> tuple[Event, ...]:
    """Return every stretch of at least a second in which the posture was held."""
    return tuple(
        Event("hold", Interval(run.onset_s, run.offset_s))
        for run in _runs(trace, 0.0)
        if run.duration_s >= _EVENT_MIN_S
    )


def hold_drawn(tracks: xr.Dataset) -> tuple[Part, ...]:
    """Draw both that must hold: how far the feet are apart, and how far each eye is shut."""
    return (*stance_drawn(tracks), *lids(tracks, closed_by_eye(tracks)))


MEASURES = (
    Measure(
        name="hold_time",
        title="Longest hold, feet together and eyes shut",
        trace=hold_time,
        summarise=longest_hold,
        events=holds,
        unit="s",
        construction=hold_drawn,
        needs=(Need("pose", 5.0), Need("face", 15.0)),
        curve="Feet together and eyes shut",
        reference="common practice, no source",
    ),
)
