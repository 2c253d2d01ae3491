"""Gaze steadiness: where held eyes do not stay still, as a place to look again; no number on most films."""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.measure import Measure, Need, with_reasons
from review.domain.model import Estimate, Event, Interval, Reason
from review.domain.tracks import looked
from review.measures.face_frame import IRIS_MM, iris_width
from review.measures.face_view import looked_at
from review.measures.gaze_sweep import gaze_drawn, gaze_in_head
from review.measures.learned import bias
from review.signals.estimates import stated, unstated
from review.signals.filtering import low_pass, speed
from review.signals.runs import runs_above, true_runs
from review.signals.uncertainty import Bounded, above_floor, bounded, effective_size, noise_sd

Series = npt.NDArray[np.float64]

MIN_RATE_HZ: Final = 50.0
"""With fewer frames a second quick movements of the eye fall between frames."""

MIN_PX_PER_DEG: Final = 0.5
"""A deg of gaze must move the iris by this much in the picture."""

MM_PER_DEG: Final = 0.213
"""Way of the limbus for a deg of gaze, at a radius of 12.2 mm: Paliaga and Ghisolfi, "millimetric cover test"."""

AGAIN_DEG: Final = 0.5
"""Held eyes that waver by more than this (root mean square over a second) are worth another look."""

_FAST_HZ, _SLOW_HZ = 10.0, 0.8
_HELD_DEG_PER_S = 10.0
_FLOORS = 3.0
_WINDOW_S = 1.0
_LEAST_S = 1.0
_HOLE_S = 0.25


def wavering(tracks: xr.Dataset) -> xr.DataArray:
    """How far held eyes are from where they dwell, in deg.

    The gaze in the head (`review.measures.gaze_sweep.gaze_in_head`) below 10 Hz less the same below 0.8 Hz, both
    without a shift, where the slow part moves by less than 10 deg a second.

    Parameters
    ----------
    tracks
        Landmark dataset; needs all face variables, 60 frames a second.

    Returns
    -------
    DataArray
        Over ``time`` and ``direction``, unit "deg", with the coordinate ``reason``. NaN where `gaze_in_head` has
        none, with fewer than `MIN_RATE_HZ` frames a second, and where a deg of gaze moves the iris by less than
        `MIN_PX_PER_DEG` (`Reason.FACE_SMALL`). Attribute ``floor_deg``: what the film's own noise makes of it.

    References
    ----------
    Common practice, no source.
    """
    gaze = gaze_in_head(tracks)
    reason = gaze["reason"].values.copy()
    small = iris_width(tracks) / IRIS_MM * MM_PER_DEG < MIN_PX_PER_DEG
    reason[(reason == Reason.NONE) & small] = Reason.FACE_SMALL
    rate = _rate_hz(tracks)
    reason[(reason != Reason.NOT_LOOKED) & (rate < MIN_RATE_HZ)] = Reason.RATE_LOW
    times = tracks["time"].values
    raw = np.where((reason == Reason.NONE)[:, None], gaze.values, np.nan)
    away = np.stack([_band(times, axis) for axis in raw.T], axis=1)
    passed = min(1.0, 2 * (_FAST_HZ - _SLOW_HZ) / rate) if rate > 0 else 1.0
    noise = [float(np.nan_to_num(noise_sd(axis))) for axis in raw.T]
    trace = xr.DataArray(away, dims=gaze.dims, coords={"time": gaze["time"], "direction": gaze["direction"]})
    return with_reasons(trace.assign_attrs(floor_deg=float(np.linalg.norm(noise) * np.sqrt(passed))), reason, "deg")


def _rate_hz(tracks: xr.Dataset) -> float:
    times = tracks["time"].values[looked(tracks, "face")]
    return 1 / float(np.median(np.diff(times))) if len(times) > 1 else 0.0


def _band(times: Series, gaze: Series) -> Series:
    slow = low_pass(times, gaze, _SLOW_HZ)
    held = np.abs(speed(times, slow)) < _HELD_DEG_PER_S
    return np.where(held, low_pass(times, gaze, _FAST_HZ) - slow, np.nan)


def steadiness(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return by how much held eyes wavered, root mean square over both directions above the film's own noise, in deg.

    No number from less than a second, nor where noise alone could have made it ("below what this film can show").
    """
    seen = looked_at(trace)
    away = seen.values[np.isfinite(seen.values).all(axis=1)]
    step = float(np.median(np.diff(seen["time"].values))) if len(seen) > 1 else 0.0
    if len(away) * step < _LEAST_S:
        return (unstated(trace),)
    square = (away**2).sum(axis=1)
    total, floor = float(np.sqrt(square.mean())), float(trace.attrs["floor_deg"])
    error = total / np.sqrt(2 * effective_size(square))
    left = above_floor(bounded(total, noise=float(error)), Bounded(floor, 0.5 * floor, 1.5 * floor))
    if left.low <= 0:
        return (unstated(trace, Reason.BELOW_NOISE),)
    number = bias("gaze_steadiness").corrected(left.value, noise=(left.high - left.low) / 4)
    number = number.within(0.0)
    return (stated(trace, number, rests_on=tuple(event.interval for event in moments(trace))),)


def moments(trace: xr.DataArray) -> tuple[Event, ...]:
    """List the stretches worth another look: "look_again", ``peak`` the greatest wavering over a second, in deg.

    Held eyes that waver by more than `AGAIN_DEG` and three times the film's own noise, for at least half a second. It
    says nothing of why.
    """
    seen = looked_at(trace)
    times = seen["time"].values
    rms = _over_a_second(times, (seen.values**2).sum(axis=1))
    level = max(AGAIN_DEG, _FLOORS * float(trace.attrs["floor_deg"]))
    found = runs_above(times, rms, level, min_s=_WINDOW_S / 2, max_step_s=_HOLE_S)
    return tuple(
        Event("look_again", Interval(run.onset_s, run.offset_s), None, float(np.nanmax(rms[run.samples])))
        for run in found
    )


def _over_a_second(times: Series, square: Series) -> Series:
    """Root mean square over the second around each sample, within unbroken stretches of at least that length."""
    rms = np.full(len(times), np.nan)
    for run in true_runs(times, np.isfinite(square), min_s=_WINDOW_S, max_step_s=_HOLE_S):
        clock, sums = times[run.samples], np.concatenate(([0.0], np.cumsum(square[run.samples])))
        first = np.searchsorted(clock, clock - _WINDOW_S / 2)
        last = np.searchsorted(clock, clock + _WINDOW_S / 2, side="right")
        rms[run.samples] = np.sqrt((sums[last] - sums[first]) / (last - first))
    return rms


MEASURES = (
    Measure(
        name="gaze_steadiness",
        title="Held eyes wavering",
        trace=wavering,
        summarise=steadiness,
        events=moments,
        unit="deg",
        construction=gaze_drawn,
        needs=(Need("face", 30.0), Need("face", 60.0, from_hz=MIN_RATE_HZ)),
        curve="Gaze from where it dwells",
        reference="common practice, no source",
    ),
)
