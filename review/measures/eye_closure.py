"""Eye closure: when each eye was shut, for how long, and whether it was a blink, one eye alone, or held."""

from __future__ import annotations

import math
from typing import Final, Literal

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.construction import Part
from review.domain.measure import Measure, Need, with_reasons
from review.domain.model import Estimate, Event, Interval, Reason, Side
from review.measures.drawn import LIDS, lids
from review.measures.face_view import face_reasons, looked_at, shares
from review.signals.estimates import stated, unstated
from review.signals.runs import Run, runs_above
from review.signals.uncertainty import Bounded

CLOSED: Final = 0.5
"""Closure above this is called closed."""

HELD_S: Final = 0.8
"""A closure at least this long is held; a shorter one is a blink."""

MIN_FACE_PX: Final = 45.0
MAX_YAW_DEG: Final = 35.0

_SHAPES: Final[dict[Side, str]] = {"left": "eyeBlinkLeft", "right": "eyeBlinkRight"}
_SIDES: Final[tuple[Side, ...]] = ("left", "right")

_OPEN_SHAPE = 0.35
_OPEN_RATIO = 0.3
_OPEN_RATIO_LEAST = 0.15
_OPEN_SAMPLES = 5

_LEVEL_ERROR = 0.05
_EDGE_S = 0.07
_EDGE_DEPTH = 0.3
_EDGE_NEAR_S = 0.2
_FLICKER_S = 0.1
_HOLE_S = 0.5
_ALONE_SHARE = 0.5
_ALONE_S = 0.2
_LEAST_FRAMES = 5
_SLOW_STEP_S = 0.1


def eye_aspect_ratio(points: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """Return the eye aspect ratio ``(|p2 - p6| + |p3 - p5|) / (2 |p1 - p4|)``.

    Parameters
    ----------
    points
        The six lid points p1 to p6, shape ``(..., 6, 2)``: corner, two on the upper lid, other corner, two on the
        lower lid going back; any unit of length. NaN makes the ratio NaN.

    Returns
    -------
    ndarray
        Ratio, shape ``(...)``, no unit.

    References
    ----------
    Soukupova T, Cech J (2016). Real-time eye blink detection using facial landmarks. CVWW.

    Examples
    --------
    >>> eye_aspect_ratio([[0, 0], [10, 5], [20, 5], [30, 0], [20, -5], [10, -5]]).round(4)
    np.float64(0.3333)
    """
    p = np.asarray(points, dtype=np.float64)

    def distance(a: int, b: int) -> npt.NDArray[np.float64]:
        return np.hypot(p[..., a, 0] - p[..., b, 0], p[..., a, 1] - p[..., b, 1])

    return np.asarray((distance(1, 5) + distance(2, 4)) / (2 * distance(0, 3)))


def closed_by_eye(tracks: xr.Dataset) -> xr.DataArray:
    """How far each eye is shut, 0 (open) to 1; above `CLOSED` it is called closed.

    The mean of two readings of the lids: the face model's ``eyeBlink`` weight of that eye, and the lid drop
    ``1 - EAR / EAR_open`` kept within 0 and 1. ``EAR_open`` is the person's own: the upper quartile of the eye
    aspect ratio over the frames of `tracks` whose ``eyeBlink`` weight says open; 0.3 when there are hardly any, as
    in a stretch with the eyes shut throughout.

    Parameters
    ----------
    tracks
        Landmark dataset; needs ``face_xy``, ``face_width``, ``blendshape``, ``head_angle``. 30 frames a second
        show a blink of 0.1 s; see `review.signals.runs` for edges between frames.

    Returns
    -------
    DataArray
        Over ``time`` and ``side`` (the examined person's own), unit "1", with the coordinate ``reason``. NaN where
        the face was not looked at, not found, narrower than `MIN_FACE_PX` or turned further than `MAX_YAW_DEG`, and
        where the picture is darker than `review.measures.face_view.MIN_BRIGHTNESS`.

    References
    ----------
    See `eye_aspect_ratio`; threshold relative to the person's own open eye: common practice, no source.
    """
    both = [_closed(tracks, side) for side in _SIDES]
    trace = xr.DataArray(
        np.stack(both, axis=1), dims=("time", "side"), coords={"time": tracks["time"], "side": list(_SIDES)}
    )
    return with_reasons(trace, face_reasons(tracks, MIN_FACE_PX, MAX_YAW_DEG), "1")


def _closed(tracks: xr.Dataset, side: Side) -> npt.NDArray[np.float64]:
    shape = tracks["blendshape"].sel(shape=_SHAPES[side]).values.astype(np.float64)
    ratio = eye_aspect_ratio(tracks["face_xy"].sel(face_point=list(LIDS[side])).values)
    open_ratio = _OPEN_RATIO
    seen_open = ratio[(shape < _OPEN_SHAPE) & np.isfinite(ratio)]
    if len(seen_open) >= _OPEN_SAMPLES:
        open_ratio = max(float(np.quantile(seen_open, 0.75)), _OPEN_RATIO_LEAST)
    return np.asarray((shape + np.clip(1 - ratio / open_ratio, 0, 1)) / 2)


def closures(times: npt.NDArray[np.float64], closed: npt.NDArray[np.float64]) -> tuple[Run, ...]:
    """Find the closures of one eye.

    A closure is a stretch above `CLOSED`; lapses of up to 0.1 s do not end it, a hole of more than 0.5 s between
    frames does. Its onset is the first and its offset the last moment at which the lid is 0.3 of the way from
    `CLOSED` to the deepest closure within 0.2 s of that edge, so that a slowly opening lid counts as open once it
    has clearly left.

    Parameters
    ----------
    times, closed
        Clock in seconds and one side of `closed_by_eye`, shape ``(time,)``; NaN is never closed.
    """
    rough = runs_above(times, closed, CLOSED, bridge_s=_FLICKER_S, max_step_s=_HOLE_S)
    return tuple(_with_edges(times, closed, run) for run in rough)


def _with_edges(times: npt.NDArray[np.float64], closed: npt.NDArray[np.float64], run: Run) -> Run:
    start = max(run.first - 1, 0)
    around = slice(start, run.last + 2)
    clock, values = times[around], closed[around]
    head = closed[run.samples][times[run.samples] <= times[run.first] + _EDGE_NEAR_S]
    tail = closed[run.samples][times[run.samples] >= times[run.last] - _EDGE_NEAR_S]
    first = runs_above(clock, values, _edge_level(head), max_step_s=_HOLE_S)[0]
    last = runs_above(clock, values, _edge_level(tail), max_step_s=_HOLE_S)[-1]
    return Run(first.onset_s, last.offset_s, start + first.first, start + last.last)


def _edge_level(near: npt.NDArray[np.float64]) -> float:
    return CLOSED + _EDGE_DEPTH * (float(np.nanmax(near)) - CLOSED)


def eye_events(trace: xr.DataArray) -> tuple[Event, ...]:
    """List the closures of each eye in order of onset.

    Parameters
    ----------
    trace
        As from `closed_by_eye`.

    Returns
    -------
    tuple of Event
        Kind "wink" when it lasted at least 0.2 s and the other eye was seen and stayed open for more than half of
        it, else "held" from `HELD_S` on, else "blink". Closing both eyes gives one event for each. ``peak`` is the
        deepest closure.
    """
    seen = looked_at(trace)
    times = seen["time"].values
    events = []
    for side, other in zip(_SIDES, reversed(_SIDES), strict=True):
        own, across = seen.sel(side=side).values, seen.sel(side=other).values
        for run in closures(times, own):
            interval = Interval(run.onset_s, run.offset_s)
            peak = float(np.nanmax(own[run.samples]))
            events.append(Event(_kind(run, across), interval, side, peak))
    return tuple(sorted(events, key=lambda event: (event.interval, event.side or "")))


def _kind(run: Run, across: npt.NDArray[np.float64]) -> Literal["wink", "held", "blink"]:
    other = across[run.samples]
    seen = np.isfinite(other)
    alone = seen.any() and np.mean(other[seen] <= CLOSED) > _ALONE_SHARE
    if alone and run.duration_s >= _ALONE_S:
        return "wink"
    return "held" if run.duration_s >= HELD_S else "blink"


def longest_closure(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return for each eye the length of its longest closure in seconds, 0 when it never shut.

    The 95 % interval runs from the longest closure under a threshold raised by 0.05 to the longest one under a
    threshold lowered by 0.05 in which every moment that could not be judged counts as closed, both widened by the
    error of the two edges (0.07 s or one frame each).
    """
    return tuple(_longest(trace, side) for side in _SIDES)


def _longest(trace: xr.DataArray, side: Side) -> Estimate:
    seen = looked_at(trace)
    times, closed = seen["time"].values, seen.sel(side=side).values
    if np.isfinite(closed).sum() < _LEAST_FRAMES:
        return unstated(trace, side=side)
    step = float(np.median(np.diff(times)))
    error = math.sqrt(2) * max(_EDGE_S, step)
    runs = closures(times, closed)
    strict = runs_above(times, closed, CLOSED + _LEVEL_ERROR, bridge_s=_FLICKER_S, max_step_s=_HOLE_S)
    loose = runs_above(times, np.nan_to_num(closed, nan=1.0), CLOSED - _LEVEL_ERROR, bridge_s=_FLICKER_S)
    value = _length(runs)
    low = max(min(_length(strict), value) - error, 0.0)
    high = max(_length(loose), value) + error if loose else step
    longest = tuple(Interval(run.onset_s, run.offset_s) for run in runs if run.duration_s == value)
    return stated(trace, Bounded(value, low, high), weak=_weakness(step), rests_on=longest, side=side)


def _weakness(step_s: float) -> tuple[Reason, ...]:
    return (Reason.RATE_LOW,) if step_s > _SLOW_STEP_S else ()


def _length(runs: tuple[Run, ...]) -> float:
    return max((run.duration_s for run in runs), default=0.0)


def closed_share(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return the share of the usable time in which both eyes were closed.

    Each frame counts for the time it stands for, at most 0.5 s. The 95 % interval runs from the share under a
    threshold raised by 0.05 to that under one lowered by 0.05, widened by 0.07 s (or one frame) for every edge of
    a closure.
    """
    seen = looked_at(trace)
    times, both = seen["time"].values, seen.min("side", skipna=False).values
    known = np.isfinite(both)
    if known.sum() < _LEAST_FRAMES:
        return (unstated(trace),)
    weight = shares(times, _HOLE_S / 2)[known]
    step = float(np.median(np.diff(times)))
    runs = closures(times, both)
    error = 2 * len(runs) * max(_EDGE_S, step) / float(weight.sum())

    def part(threshold: float) -> float:
        return float(weight[both[known] > threshold].sum() / weight.sum())

    value = part(CLOSED)
    low, high = max(part(CLOSED + _LEVEL_ERROR) - error, 0.0), min(part(CLOSED - _LEVEL_ERROR) + error, 1.0)
    held = tuple(Interval(run.onset_s, run.offset_s) for run in runs if run.duration_s >= HELD_S)
    return (stated(trace, Bounded(value, low, high), weak=_weakness(step), rests_on=held),)


def lids_drawn(tracks: xr.Dataset) -> tuple[Part, ...]:
    """Draw the six points of each eye's lids as a ring, with how far it is shut."""
    return lids(tracks, closed_by_eye(tracks))


MEASURES = (
    Measure(
        name="eye_closure",
        title="Longest eye closure",
        trace=closed_by_eye,
        summarise=longest_closure,
        events=eye_events,
        unit="s",
        construction=lids_drawn,
        needs=(Need("face", 30.0),),
        curve="Lids: 0 open, 1 shut",
        reference="Soukupova T, Cech J (2016), CVWW, for the eye aspect ratio; the rest: common practice, no source",
    ),
    Measure(
        name="eyes_closed_share",
        title="Share of the time with both eyes closed",
        trace=closed_by_eye,
        summarise=closed_share,
        unit="1",
        unit_words="% of the usable time",
        construction=lids_drawn,
        needs=(Need("face", 30.0),),
        curve="Both eyes shut",
        reference="common practice, no source",
    ),
)
