"""Facial movement: which movements of the face were made and when, and how alike both sides of smile and brows went."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.construction import Part
from review.domain.measure import Measure, Need, with_reasons
from review.domain.model import Estimate, Event, Interval, Reason, Side
from review.measures.drawn import eye_line, face, lids
from review.measures.face_excursions import BROWS, CORNERS, INNER_BROWS, SIDES, Excursions, excursions
from review.measures.face_frame import head_angle
from review.measures.face_view import Reasons, face_reasons, looked_at
from review.measures.hand_over_face import hand_over
from review.measures.learned import bias
from review.measures.own_rest import resting_value
from review.signals.estimates import stated, unstated
from review.signals.filtering import low_pass
from review.signals.runs import true_runs
from review.signals.swings import swings
from review.signals.uncertainty import NORMAL_95, Bounded, noise_sd

Series = npt.NDArray[np.float64]

MOVEMENTS: Final = ("smile", "brows_up", "frown", "eyes_shut_tight", "lips_pursed")

MADE: Final = 0.5
"""A movement whose curve passes this was made; 1 is made clearly."""

MIN_FACE_PX: Final = 80.0
MAX_YAW_DEG: Final = 20.0
MAX_NOD_DEG: Final = 20.0
"""Nodding further than this from rest, the face is foreshortened too much."""

LEAST_WAY: Final = {"smile": 0.04, "brow": 0.02}
"""Least mean way of both sides, in eye distances, of which sides are compared."""

_SURE, _POSSIBLE = 0.65, 0.35
_CUTOFF_HZ = 5.0
_SHORT_S, _BRIDGE_S, _HOLE_S = 0.2, 0.2, 0.5
_UNSEEN_S = 0.4
_EDGE_SHARE = 0.5
_HEIGHT_SHARE = 0.8
_NOD_WIDTH_DEG = 2.0
_LEAST_FRAMES = 5
_TOO_UNSURE = 0.4
_UNNOTICED = 1
_BROW_WITH_GAZE, _WEIGHT_WITH_GAZE = 0.07, 0.6


def movements(tracks: xr.Dataset) -> xr.DataArray:
    """How far each of five movements of the face is made: 0 at rest, 1 clearly made.

    Ways from rest (`review.measures.face_excursions.Excursions`, in eye distances) beside expression weights from
    rest. ``smile``: geometric mean of corner / 0.08 and mouthSmile / 0.6, on the side where it is greater.
    ``brows_up``: mean of brow / 0.035 and the mean rise of browInnerUp and browOuterUp / 0.3, likewise. ``frown``:
    mean of the inner brows' way down / 0.035 and their way together / 0.025, times how far an eye is open. For
    both, 0.07 (of the weights 0.6) times the rise of eyeLookDown is taken off, with which the model lifts the brows.
    ``eyes_shut_tight``: both eyes' closure, and no more than the mean of the inner brows' way down / 0.03 and the rise
    of eyeSquint / 0.4. ``lips_pursed``: mean of the mouth's narrowing / 0.1 and the rise of mouthPucker / 0.5. Each is
    low-passed at 5 Hz without a shift.

    Parameters
    ----------
    tracks
        Landmark dataset; needs all face variables, ``hand_xy`` and ``other_hand_xy``. 15 frames a second.

    Returns
    -------
    DataArray
        Over ``time`` and ``movement``, unit "1", with the coordinate ``reason``. NaN where the face was not found, is
        narrower than `MIN_FACE_PX`, turned further than `MAX_YAW_DEG` from the camera or nods further than
        `MAX_NOD_DEG` from rest, in the dark, and where a hand is over the face.

    References
    ----------
    Common practice, no source; the corner of the mouth and the brow against rest as in facial grading by landmarks.
    """
    reason = _reasons(tracks)
    ways = excursions(tracks, reason == Reason.NONE)
    curves = {
        "smile": _further(ways.smile, ways, "mouthSmile", 0.08, 0.6),
        "brows_up": _brows_up(ways),
        "frown": _frown(ways),
        "eyes_shut_tight": np.minimum(ways.closed, _squeezed(ways)),
        "lips_pursed": (-ways.mouth_width / 0.1 + ways.weights["mouthPucker"] / 0.5) / 2,
    }
    times = tracks["time"].values
    trace = xr.DataArray(
        np.stack([low_pass(times, curves[name], _CUTOFF_HZ) for name in MOVEMENTS], axis=1),
        dims=("time", "movement"),
        coords={"time": tracks["time"], "movement": list(MOVEMENTS)},
    )
    return with_reasons(trace, reason, "1")


def _further(way: Mapping[Side, Series], ways: Excursions, weight: str, full: float, full_weight: float) -> Series:
    moved = [np.clip(way[side] / full, 0.0, None) for side in SIDES]
    weighed = [np.clip(ways.weights[weight + side.capitalize()] / full_weight, 0.0, None) for side in SIDES]
    return np.asarray(np.maximum(*(np.sqrt(one * other) for one, other in zip(moved, weighed, strict=True))))


def _brows_up(ways: Excursions) -> Series:
    inner, down = ways.weights["browInnerUp"], _looking_down(ways)
    rise = {side: (inner + ways.weights[f"browOuterUp{side.capitalize()}"]) / 2 for side in SIDES}
    sides = [
        ((ways.brow[side] - _BROW_WITH_GAZE * down) / 0.035 + (rise[side] - _WEIGHT_WITH_GAZE * down) / 0.3) / 2
        for side in SIDES
    ]
    return np.asarray(np.maximum(*sides))


def _looking_down(ways: Excursions) -> Series:
    return (ways.weights["eyeLookDownLeft"] + ways.weights["eyeLookDownRight"]) / 2


def _frown(ways: Excursions) -> Series:
    inner = ways.inner_brow - _BROW_WITH_GAZE * _looking_down(ways)
    together = (-inner / 0.035 - ways.brow_gap / 0.025) / 2
    return np.asarray(together * np.clip(2 * (1 - ways.closed), 0.0, 1.0))


def _squeezed(ways: Excursions) -> Series:
    squint = (ways.weights["eyeSquintLeft"] + ways.weights["eyeSquintRight"]) / 2
    return np.asarray((-ways.inner_brow / 0.03 + squint / 0.4) / 2)


def _reasons(tracks: xr.Dataset) -> Reasons:
    reason = face_reasons(tracks, MIN_FACE_PX, MAX_YAW_DEG)
    pitch = np.where(reason == Reason.NONE, head_angle(tracks, "pitch"), np.nan)
    away = np.abs(pitch - resting_value(tracks["time"].values, pitch, _NOD_WIDTH_DEG))
    reason[(reason == Reason.NONE) & (away > MAX_NOD_DEG)] = Reason.HEAD_TURNED
    reason[(reason == Reason.NONE) & hand_over(tracks)] = Reason.HAND_OVER_FACE
    return reason


def movements_made(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return how many of the five movements were made.

    The low end of the 95 % interval counts those whose curve passes 0.65, the high end those that pass 0.35 and one
    more, since one in 23 movements of rendered faces left no mark; where 0.4 s or more could not be judged, any
    movement may have been missed and the high end is 5. Puffed cheeks leave no
    mark in the model's points, which is said each time (`Reason.MODEL_BLIND`).
    """
    seen = looked_at(trace)
    known = np.isfinite(seen.values).any(axis=1)
    if known.sum() < _LEAST_FRAMES:
        return (unstated(trace),)
    made = [event.interval for event in movement_events(trace)]
    value, low, high = (float(_count(seen, level)) for level in (MADE, _SURE, _POSSIBLE))
    unseen = bool(true_runs(seen["time"].values, ~known, _UNSEEN_S))
    high = float(len(MOVEMENTS)) if unseen else min(high + _UNNOTICED, float(len(MOVEMENTS)))
    return (stated(trace, Bounded(value, low, high), weak=(Reason.MODEL_BLIND,), rests_on=tuple(made)),)


def _count(seen: xr.DataArray, level: float) -> int:
    return sum(bool(_made(seen, name, level)) for name in MOVEMENTS)


def _made(seen: xr.DataArray, name: str, level: float = MADE) -> list[Event]:
    curve = seen.sel(movement=name).values
    found = swings(
        seen["time"].values,
        curve,
        level,
        edge_share=_EDGE_SHARE,
        min_s=_SHORT_S,
        bridge_s=_BRIDGE_S,
        max_step_s=_HOLE_S,
    )
    return [
        Event(name, Interval(run.onset_s, run.offset_s), None, float(np.nanmax(curve[run.samples]))) for run in found
    ]


def movement_events(trace: xr.DataArray) -> tuple[Event, ...]:
    """List the movements made for at least 0.2 s in order of onset, from half their height to half of it.

    Parameters
    ----------
    trace
        As from `movements`.

    Returns
    -------
    tuple of Event
        Kind one of `MOVEMENTS`; ``peak`` in the unit of the trace.
    """
    seen = looked_at(trace)
    found = [event for name in MOVEMENTS for event in _made(seen, name)]
    return tuple(sorted(found, key=lambda event: event.interval))


def smile_by_side(tracks: xr.Dataset) -> xr.DataArray:
    """How far the corner of the mouth of each side went from rest along the way of a smile, in eye distances.

    See `review.measures.face_excursions.excursions`; low-passed at 5 Hz without a shift.

    Parameters
    ----------
    tracks
        As for `movements`.

    Returns
    -------
    DataArray
        Over ``time`` and ``side``, unit "1", NaN and ``reason`` as in `movements`; attribute ``noise`` is the standard
        deviation of a side's frame-to-frame noise.

    References
    ----------
    Common practice, no source; the index as used for facial palsy on movement relative to rest.
    """
    return _by_side(tracks, "smile")


def brows_by_side(tracks: xr.Dataset) -> xr.DataArray:
    """How far the brow of each side went up from rest, in eye distances; else as `smile_by_side`.

    References
    ----------
    Common practice, no source.
    """
    return _by_side(tracks, "brow")


def _by_side(tracks: xr.Dataset, part: str) -> xr.DataArray:
    reason = _reasons(tracks)
    ways = excursions(tracks, reason == Reason.NONE)
    raw = ways.smile if part == "smile" else ways.brow
    times = tracks["time"].values
    trace = xr.DataArray(
        np.stack([low_pass(times, raw[side], _CUTOFF_HZ) for side in SIDES], axis=1),
        dims=("time", "side"),
        coords={"time": tracks["time"], "side": list(SIDES)},
        attrs={"noise": float(np.mean([noise_sd(raw[side]) for side in SIDES])), "part": part},
    )
    return with_reasons(trace, reason, "1")


def smile_asymmetry(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return ``(left - right) / (left + right)`` of the smile at its height (see `_unlikeness`)."""
    return _unlikeness(trace, "smile_asymmetry")


def brow_asymmetry(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return ``(left - right) / (left + right)`` of the raised brows at their height (see `_unlikeness`)."""
    return _unlikeness(trace, "brow_asymmetry")


def _unlikeness(trace: xr.DataArray, key: str) -> tuple[Estimate, ...]:
    """Compare the sides while their mean is above 0.8 of its greatest; a side that went backwards counts as still.

    No number where the greatest mean way stays below `LEAST_WAY` ("not seen"), nor where the interval would reach
    further than 0.4 to either side ("too unsure"). Noise: ``2 noise sqrt(left^2 + right^2) / (left + right)^2``.
    """
    seen = looked_at(trace)
    mean = seen.values.mean(axis=1)
    if np.isfinite(mean).sum() < _LEAST_FRAMES:
        return (unstated(trace),)
    top = float(np.nanmax(mean))
    if top < LEAST_WAY[trace.attrs["part"]]:
        return (unstated(trace, Reason.NOT_SEEN),)
    height = np.nan_to_num(mean, nan=-1.0) >= _HEIGHT_SHARE * top
    left, right = (max(float(np.median(way)), 0.0) for way in seen.values[height].T)
    noise = 2 * trace.attrs["noise"] * np.hypot(left, right) / (left + right) ** 2
    number = bias(key).corrected((left - right) / (left + right), noise=float(noise))
    moments = tuple(Interval(run.onset_s, run.offset_s) for run in true_runs(seen["time"].values, height))
    if NORMAL_95 * noise > _TOO_UNSURE:
        return (unstated(trace, Reason.TOO_UNSURE, rests_on=moments),)
    return (stated(trace, number.within(-1.0, 1.0), rests_on=moments),)


def _points_drawn(tracks: xr.Dataset, words: str, points: tuple[int, ...], **facts: Any) -> Part:
    return Part(kind="points", words=words, stream="face", places=face(tracks, *points), **facts)


def _sides_drawn(tracks: xr.Dataset, words: str, points: Mapping[Side, tuple[int, ...]], of: str) -> tuple[Part, ...]:
    ways = _by_side(tracks, of)
    return tuple(
        _points_drawn(
            tracks,
            f"{side} {words}",
            points[side],
            reading=100 * np.asarray(ways.sel(side=side).values, np.float64),
            unit="% of the eye distance",
            side=side,
        )
        for side in SIDES
    )


def smile_drawn(tracks: xr.Dataset) -> tuple[Part, ...]:
    """Draw the corners of the mouth, with how far each went from rest, and the line of the eyes that is the frame."""
    corners = {side: (CORNERS[side],) for side in SIDES}
    return (*_sides_drawn(tracks, "corner of the mouth", corners, "smile"), eye_line(tracks))


def brows_drawn(tracks: xr.Dataset) -> tuple[Part, ...]:
    """Draw three points of each brow, with how far it went up from rest, and the line of the eyes that is the frame."""
    return (*_sides_drawn(tracks, "brow", BROWS, "brow"), eye_line(tracks))


def movements_drawn(tracks: xr.Dataset) -> tuple[Part, ...]:
    """Draw the points that the five movements rest on: corners of the mouth, brows, their inner ends, the lids."""
    return (
        _points_drawn(tracks, "corners of the mouth", tuple(CORNERS.values())),
        _points_drawn(tracks, "brows", (*BROWS["left"], *BROWS["right"])),
        _points_drawn(tracks, "inner ends of the brows", (*INNER_BROWS["left"], *INNER_BROWS["right"])),
        *lids(tracks),
        eye_line(tracks),
    )


_NEEDS = (Need("face", 15.0), Need("hand", 5.0))
_REFERENCE = "common practice, no source"

MEASURES = (
    Measure(
        name="facial_movement",
        title="Movements of the face",
        trace=movements,
        summarise=movements_made,
        events=movement_events,
        unit="1",
        unit_words="of 5 movements",
        parts=MOVEMENTS,
        construction=movements_drawn,
        needs=_NEEDS,
        curve="Movement: 0 rest, 1 clearly made",
        reference=_REFERENCE,
    ),
    Measure(
        name="smile_asymmetry",
        title="Smile: left against right",
        trace=smile_by_side,
        summarise=smile_asymmetry,
        unit="1",
        unit_words="(left - right) / (left + right)",
        construction=smile_drawn,
        needs=_NEEDS,
        curve="Corner of the mouth from rest, in eye distances",
        reference=_REFERENCE,
    ),
    Measure(
        name="brow_asymmetry",
        title="Raised brows: left against right",
        trace=brows_by_side,
        summarise=brow_asymmetry,
        unit="1",
        unit_words="(left - right) / (left + right)",
        construction=brows_drawn,
        needs=_NEEDS,
        curve="Brow from rest, in eye distances",
        reference=_REFERENCE,
    ),
)
