"""Shrugging: how far each shoulder rises from its rest, in shares of the trunk's length.

A shrug brings the shoulders up both against the ears and in the picture. A nod moves the ears alone, and somebody who
stands up or whose camera sinks moves both: what counts is therefore the lesser of the two rises. The hips are no
reference, because the pose model lets them go up with the shoulders.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.construction import Part
from review.domain.measure import Measure, Need, with_reasons
from review.domain.model import Estimate, Event, Interval, Reason, Side
from review.domain.tracks import why_absent
from review.measures.drawn import body, both, joined
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

LEAST_RISE: Final = 0.018
"""Mean rise of both shoulders as read, in trunk lengths, that a shrug must pass.

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
_BRIDGE_S = 0.1
_MAX_GAP_S = 0.3
_NOISES = 6.0
_HIPS_SHARE = 0.8
_LEAST_SECONDS = 1.0
_LEAST_SHARE = 0.5


def shoulder_rise(tracks: xr.Dataset) -> xr.DataArray:
    """Rise of each shoulder from its rest, in lengths of the trunk, as the model reads it.

    The lesser of two rises upwards in the picture: of the shoulder against the ears' middle, and of the shoulder
    itself. Each is low-passed at 3 Hz without a shift in time, less the value kept longest (see
    `review.measures.own_rest.resting_value`), over the length from the hips' to the shoulders' middle; 1.45 shoulder
    widths where the hips are out of view in more than a fifth of the frames.

    Shape ``(time, side)``, unit 1. NaN where nobody was found, where shoulders or ears are out of view, where the
    shoulder line is turned by more than 45 deg out of the picture plane, and while an elbow is above its shoulder, for
    lifting the arms takes the shoulders along (`Reason.POSTURE_NOT_HELD`). The attribute ``trunk_seen`` tells whether
    the hips gave the scale, ``jitter`` the noise before smoothing. 15 looks a second.

    References
    ----------
    Common practice, no source.
    """
    reasons = _reasons(tracks)
    usable = reasons == int(Reason.NONE)
    trunk_seen = bool(usable.any() and in_view(tracks, "hip")[usable].mean() >= _HIPS_SHARE)
    length = _trunk_px(tracks, usable, trunk_seen)
    ears = np.where(usable, middle(tracks, "ear").sel(space="y").values, np.nan) / length
    rises, jitter = [], []
    for side in _SIDES:
        level = np.where(usable, _level(tracks, f"{side}_shoulder"), np.nan) / length
        both = (ears - level, -level)
        rises.append(np.minimum(*(_from_rest(tracks, one) for one in both)))
        jitter += [noise_sd(one[reasons != int(Reason.NOT_LOOKED)]) for one in both]
    trace = xr.DataArray(
        np.stack(rises, axis=1), dims=("time", "side"), coords={"time": tracks["time"], "side": list(_SIDES)}
    )
    return with_reasons(trace, reasons, "1").assign_attrs(trunk_seen=trunk_seen, jitter=max(jitter))


def _from_rest(tracks: xr.Dataset, height: Series) -> Series:
    clock = tracks["time"].values
    smooth = low_pass(clock, height, CUTOFF_HZ, _MAX_GAP_S)
    return smooth - resting_value(clock, smooth, _REST_WIDTH)


def _reasons(tracks: xr.Dataset) -> npt.NDArray[np.int8]:
    lifted = [_level(tracks, f"{side}_elbow") < _level(tracks, f"{side}_shoulder") for side in _SIDES]
    conditions = [
        ~in_view(tracks, "shoulder", "ear"),
        np.nan_to_num(shoulder_turn_deg(tracks)) > GREATEST_TURN_DEG,
        lifted[0] | lifted[1],
    ]
    reasons = [int(Reason.BODY_OUT_OF_VIEW), int(Reason.OBLIQUE_VIEW), int(Reason.POSTURE_NOT_HELD)]
    absent = why_absent(tracks, "pose", Reason.NOBODY_FOUND)
    return np.where(absent != Reason.NONE, absent, np.select(conditions, reasons, int(Reason.NONE))).astype(np.int8)


def _level(tracks: xr.Dataset, name: str) -> Series:
    return np.asarray(point(tracks, name).sel(space="y").values)


def _trunk_px(tracks: xr.Dataset, usable: Flags, trunk_seen: bool) -> float:
    """Return the trunk's length in the picture: seen, or guessed from the shoulders' distance."""
    if trunk_seen:
        return _typical(distance(middle(tracks, "shoulder"), middle(tracks, "hip")).values[usable])
    across = distance(point(tracks, "left_shoulder"), point(tracks, "right_shoulder"))
    return TRUNK_IN_SHOULDERS * _typical(across.values[usable])


def _typical(values: Series) -> float:
    known = values[np.isfinite(values)]
    return float(np.median(known)) if len(known) else np.nan


def _least(trace: xr.DataArray) -> float:
    jitter = float(trace.attrs["jitter"])
    return max(LEAST_RISE, _NOISES * _kept(trace, jitter))


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
    guessed = 0.0 if trace.attrs["trunk_seen"] else _GUESSED_SCALE_SD
    number = learned.corrected(reading, noise=_kept(trace, float(trace.attrs["jitter"])), scale_sd=guessed)
    moments = tuple(Interval(max(0.0, run.onset_s), max(0.0, run.offset_s)) for run in runs)
    return stated(trace, number, rests_on=moments, side=side)


def shrug_drawn(tracks: xr.Dataset) -> tuple[Part, ...]:
    """Draw how far each shoulder lies below the ears, with its rise from rest, and the trunk that is the scale."""
    rise = shoulder_rise(tracks)
    ears = body(tracks, both("ear"))[:, 0]
    parts = []
    for side in _SIDES:
        shoulder = body(tracks, f"{side}_shoulder")[:, 0]
        level = np.stack([shoulder[:, 0], ears[:, 1]], axis=1)
        reading = 100 * np.asarray(rise.sel(side=side).values, np.float64)
        parts.append(
            Part(
                kind="line",
                words=f"{side} shoulder below the ears",
                stream="pose",
                places=joined(level, shoulder),
                reading=reading,
                unit="% of trunk length",
                side=side,
            )
        )
    trunk = body(tracks, both("shoulder"), both("hip"))
    return (*parts, Part(kind="line", words="trunk, the scale", stream="pose", places=trunk))


MEASURES = (
    Measure(
        name="shoulder_elevation",
        title="Shoulders raised",
        trace=shoulder_rise,
        summarise=greatest_rise,
        events=shrugs,
        unit="1",
        unit_words="% of trunk length",
        construction=shrug_drawn,
        needs=(Need("pose", 15.0),),
        curve="Rise of each shoulder",
        reference="common practice, no source",
    ),
)
