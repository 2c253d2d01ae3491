"""Shrugging: how far each shoulder rises from its rest, in shares of the trunk's length.

The shoulders' rise is taken along the trunk, from the hips, so that leaning and rising with the whole body are none of
it. Where the hips are out of the picture, the ears take their place: then a nod counts, and the scale is a guess.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.measure import Measure, Need, with_reasons
from review.domain.model import Estimate, Event, Interval, Reason, Side
from review.domain.tracks import why_absent
from review.measures.learned import bias
from review.measures.own_rest import resting_value
from review.measures.stance_width import in_view, middle, point, shoulder_turn_deg
from review.signals.estimates import reason_codes, stated, unstated
from review.signals.filtering import low_pass
from review.signals.geometry import distance
from review.signals.runs import Run
from review.signals.swings import swings
from review.signals.uncertainty import Bounded, noise_sd

Series = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

LEAST_RISE: Final = 0.025
"""Mean rise of both shoulders as read, in trunk lengths, that a shrug must pass; twice that by the ears.

Of the mean, because leaning to a side lifts one shoulder and lowers the other.
"""

CUTOFF_HZ: Final = 3.0
GREATEST_TURN_DEG: Final = 45.0

TRUNK_IN_SHOULDERS: Final = 1.45
"""Length from hips to shoulders in shoulder widths, as the pose model read them of a rendered person."""

_SIDES: Final[tuple[Side, Side]] = ("left", "right")
_GUESSED_SCALE_SD = 0.12
_REST_WIDTH = 0.01
_EDGE_SHARE = 0.1
_SHORTEST_S = 0.2
_BRIDGE_S = 0.2
_MAX_GAP_S = 0.3
_NOISES = 6.0
_HIPS_SHARE = 0.8
_LEAST_SECONDS = 1.0
_LEAST_SHARE = 0.5


def shoulder_rise(tracks: xr.Dataset) -> xr.DataArray:
    """Rise of each shoulder from its rest, in lengths of the trunk, as the model reads it.

    ``((shoulder - hips) . u - rest) / L`` in the picture, low-passed at 3 Hz without a shift in time: ``u`` points from
    the hips' to the shoulders' middle, ``L`` is that distance at rest, and ``rest`` is the value kept longest (see
    `review.measures.own_rest.resting_value`). Where the hips are out of view in more than a fifth of the frames:
    straight up in the picture from the ears' middle, with 1.45 shoulder widths for ``L``.

    Shape ``(time, side)``, unit 1. NaN where nobody was found, where the shoulders are out of view, where the
    shoulder line is turned by more than 45 deg out of the picture plane, and while an elbow is above its shoulder, for
    lifting the arms takes the shoulders along (`Reason.POSTURE_NOT_HELD`). The attribute ``by_hips`` says which of the
    two ways was taken, ``jitter`` the noise before smoothing. 15 looks a second.

    References
    ----------
    Common practice, no source.
    """
    clock = tracks["time"].values
    by_hips = _by_hips(tracks)
    reasons = _reasons(tracks, by_hips)
    usable = reasons == int(Reason.NONE)
    raw = np.where(usable[:, None], _height(tracks, by_hips, usable), np.nan)
    smooth = np.stack([low_pass(clock, raw[:, side], CUTOFF_HZ, _MAX_GAP_S) for side in range(2)], axis=1)
    rest = [resting_value(clock, smooth[:, side], _REST_WIDTH) for side in range(2)]
    trace = xr.DataArray(smooth - rest, dims=("time", "side"), coords={"time": tracks["time"], "side": list(_SIDES)})
    jitter = max(noise_sd(raw[reasons != int(Reason.NOT_LOOKED), side]) for side in range(2))
    return with_reasons(trace, reasons, "1").assign_attrs(by_hips=by_hips, jitter=jitter)


def _by_hips(tracks: xr.Dataset) -> bool:
    found = why_absent(tracks, "pose", Reason.NOBODY_FOUND) == int(Reason.NONE)
    return bool(found.any() and in_view(tracks, "hip")[found].mean() >= _HIPS_SHARE)


def _reasons(tracks: xr.Dataset, by_hips: bool) -> npt.NDArray[np.int8]:
    lifted = [_level(tracks, f"{side}_elbow") < _level(tracks, f"{side}_shoulder") for side in _SIDES]
    conditions = [
        ~in_view(tracks, "shoulder", "hip" if by_hips else "ear"),
        np.nan_to_num(shoulder_turn_deg(tracks)) > GREATEST_TURN_DEG,
        lifted[0] | lifted[1],
    ]
    reasons = [int(Reason.BODY_OUT_OF_VIEW), int(Reason.OBLIQUE_VIEW), int(Reason.POSTURE_NOT_HELD)]
    absent = why_absent(tracks, "pose", Reason.NOBODY_FOUND)
    return np.where(absent != Reason.NONE, absent, np.select(conditions, reasons, int(Reason.NONE))).astype(np.int8)


def _level(tracks: xr.Dataset, name: str) -> Series:
    return np.asarray(point(tracks, name).sel(space="y").values)


def _height(tracks: xr.Dataset, by_hips: bool, usable: Flags) -> Series:
    """Height of each shoulder above its reference in trunk lengths; shape ``(time, side)``."""
    left, right = (point(tracks, f"{side}_shoulder") for side in _SIDES)
    if not by_hips:
        ears = middle(tracks, "ear").sel(space="y")
        guessed = TRUNK_IN_SHOULDERS * _typical(distance(left, right).values[usable])
        return np.stack([(ears - one.sel(space="y")).values for one in (left, right)], axis=1) / guessed
    hips = middle(tracks, "hip")
    trunk = middle(tracks, "shoulder") - hips
    length = (trunk**2).sum("space", skipna=False) ** 0.5
    up = trunk / length.where(length > 0)
    along = [((one - hips) * up).sum("space", skipna=False).values for one in (left, right)]
    return np.stack(along, axis=1) / _typical(length.values[usable])


def _typical(values: Series) -> float:
    known = values[np.isfinite(values)]
    return float(np.median(known)) if len(known) else np.nan


def _least(trace: xr.DataArray) -> float:
    jitter = float(trace.attrs["jitter"])
    return max(LEAST_RISE * (1 if trace.attrs["by_hips"] else 2), _NOISES * _kept(trace, jitter))


def _kept(trace: xr.DataArray, jitter: float) -> float:
    """Return the standard deviation of what the filter lets through of white jitter."""
    known = trace["time"].values[np.isfinite(trace.values).any(axis=1)]
    if len(known) < 2 or not np.isfinite(jitter):
        return 0.0
    return jitter * float(np.sqrt(min(1.0, 2 * CUTOFF_HZ * np.median(np.diff(known)))))


def _runs(trace: xr.DataArray) -> tuple[tuple[Run, ...], xr.DataArray]:
    """Return the shrugs, and the frames that were looked at, in which they are counted."""
    seen = trace.isel(time=np.flatnonzero(reason_codes(trace) != int(Reason.NOT_LOOKED)))
    both = seen.mean("side", skipna=False).values
    limits = {"edge_share": _EDGE_SHARE, "min_s": _SHORTEST_S, "bridge_s": _BRIDGE_S, "max_step_s": _MAX_GAP_S}
    return swings(seen["time"].values, both, _least(trace), **limits), seen


def shrugs(trace: xr.DataArray) -> tuple[Event, ...]:
    """Return every shrug, from where the shoulders began to rise until they were down again.

    Its length is the time held; peak is the rise of the higher shoulder, as read, in trunk lengths.
    """
    runs, seen = _runs(trace)
    return tuple(
        Event(
            "shrug",
            Interval(max(0.0, run.onset_s), max(0.0, run.offset_s)),
            peak=float(np.nanmax(seen.values[run.samples])),
        )
        for run in runs
    )


def greatest_rise(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return for each side the greatest rise during a shrug, with the model's under-reading taken off.

    0 without a shrug, with what could have gone unseen as its interval.
    """
    runs, seen = _runs(trace)
    known = np.isfinite(seen.values).any(axis=1)
    clock = seen["time"].values[known]
    if len(clock) < 2 or known.mean() < _LEAST_SHARE or clock[-1] - clock[0] < _LEAST_SECONDS:
        short = Reason.TOO_SHORT if len(clock) >= 2 and known.mean() >= _LEAST_SHARE else None
        return tuple(unstated(trace, short, side=side) for side in _SIDES)
    return tuple(_of_side(trace, seen.sel(side=side).values, runs, side) for side in _SIDES)


def _of_side(trace: xr.DataArray, values: Series, runs: tuple[Run, ...], side: Side) -> Estimate:
    learned = bias("shoulder_elevation")
    if not runs:
        return stated(trace, Bounded(0.0, 0.0, _least(trace) / learned.scale), side=side)
    reading = max(0.0, max(float(np.nanmax(values[run.samples])) for run in runs))
    guessed = 0.0 if trace.attrs["by_hips"] else _GUESSED_SCALE_SD
    number = learned.corrected(reading, noise=_kept(trace, float(trace.attrs["jitter"])), scale_sd=guessed)
    moments = tuple(Interval(max(0.0, run.onset_s), max(0.0, run.offset_s)) for run in runs)
    weak = () if trace.attrs["by_hips"] else (Reason.BODY_OUT_OF_VIEW,)
    return stated(trace, number, weak=weak, rests_on=moments, side=side)


MEASURES = (
    Measure(
        name="shoulder_elevation",
        title="Shoulders raised",
        trace=shoulder_rise,
        summarise=greatest_rise,
        events=shrugs,
        unit="1",
        unit_words="% of trunk length",
        needs=(Need("pose", 15.0),),
        curve="Rise of each shoulder",
        reference="common practice, no source",
    ),
)
