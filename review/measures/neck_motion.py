"""Neck motion: how far the head turns, bends and nods against the trunk, from the stretch's own rest."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.construction import Part
from review.domain.measure import Measure, Need, with_reasons
from review.domain.model import Estimate, Event, Interval, Reason, Side
from review.domain.tracks import why_absent
from review.measures.drawn import body, eye_line, facing
from review.measures.face_view import face_reasons, looked_at
from review.measures.head_and_trunk import Posture, posture
from review.measures.learned import bias
from review.measures.own_rest import resting_value
from review.signals.estimates import stated, unstated
from review.signals.filtering import low_pass
from review.signals.runs import runs_above
from review.signals.uncertainty import noise_sd

Series = npt.NDArray[np.float64]

MOVED_DEG: Final = 10.0
"""Beyond this of rest the neck has moved."""

TRUNK_DEG: Final = 10.0
"""A trunk that turned or leaned this far along is said."""

MIN_FACE_PX: Final = 45.0

_ANGLES: Final = ("rotation", "flexion_extension", "side_bend")
_SIGNS: Final[dict[Side, int]] = {"left": 1, "right": -1}
_CUTOFF_HZ = 4.0
_HOLE_S = 0.5
_SHORT_S = 0.2
_REST_DEG = 2.0
_FACING_DEG = 30.0
_LEAST_FRAMES = 5
_NO_SHOULDERS_DEG = 3.0


def neck_from_rest(tracks: xr.Dataset) -> xr.DataArray:
    """Turn, nod and tilt of the head against the trunk, away from their own rest, in deg.

    ``rotation = yaw(head) - turn(trunk)``, ``flexion_extension = pitch(head)``, ``side_bend = roll(head) -
    lean(shoulders' line)`` (see `review.measures.head_and_trunk.posture`), each less its value at rest
    (`review.measures.own_rest.resting_value`, with the head likely within 30 deg of facing the camera), low-passed
    at 4 Hz without a shift. Where the shoulders are not seen the trunk counts as still; a trunk that bends forwards
    or backwards cannot be seen from the front and is not taken off.

    Parameters
    ----------
    tracks
        Landmark dataset; needs ``head_angle``, ``pose_xy``, ``pose_world``. 15 frames a second.

    Returns
    -------
    DataArray
        Over ``time`` and ``angle``: rotation (+ to own left), flexion_extension (+ extension), side_bend (+ to own
        left), unit "deg", with the coordinates ``reason``, ``trunk`` (what the trunk moved along, deg, NaN where
        unseen), ``yaw`` (of the head towards the camera, deg), ``unsure`` and ``trunk_unsure`` (standard deviations,
        see there). NaN where neither face nor body tells the angle. Attribute ``noise_deg`` (of each angle).

    References
    ----------
    Common practice, no source; head angles against the trunk as with a device strapped to head and chest.
    """
    held = posture(tracks)
    times = tracks["time"].values
    turn, lean = np.nan_to_num(held.turn), np.nan_to_num(held.lean)
    raw = np.stack([held.yaw - turn, held.pitch, held.roll - lean], axis=1)
    facing = np.exp(-0.5 * (np.nan_to_num(held.yaw) / _FACING_DEG) ** 2)
    rest = [resting_value(times, raw[:, place], _REST_DEG, facing) for place in range(len(_ANGLES))]
    smooth = np.stack([low_pass(times, raw[:, place] - rest[place], _CUTOFF_HZ) for place in range(len(_ANGLES))], 1)
    trace = xr.DataArray(
        smooth, dims=("time", "angle"), coords={"time": tracks["time"], "angle": list(_ANGLES)}
    ).assign_attrs(noise_deg=[noise_sd(raw[:, place]) for place in range(len(_ANGLES))])
    trunk = np.where(np.abs(turn) > np.abs(lean), held.turn, held.lean)
    return with_reasons(trace, _reasons(tracks, held), "deg").assign_coords(
        trunk=("time", trunk),
        yaw=("time", held.yaw),
        unsure=("time", held.unsure),
        trunk_unsure=("time", held.turn_unsure),
    )


def _reasons(tracks: xr.Dataset, held: Posture) -> npt.NDArray[np.int8]:
    face = face_reasons(tracks, MIN_FACE_PX, 180.0)
    body = why_absent(tracks, "pose", Reason.NOBODY_FOUND)
    unlooked = (face == Reason.NOT_LOOKED) & (body != Reason.NONE)
    usable = np.isfinite(held.yaw) & ((face == Reason.NONE) | held.far & (face != Reason.TOO_DARK))
    reason = np.where(face != Reason.NONE, face, Reason.HEAD_TURNED)
    return np.where(usable & ~unlooked, Reason.NONE, reason).astype(np.int8)


def neck_rotation(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return the largest rotation to own left and to own right, in deg (see `_greatest`)."""
    return tuple(_greatest(trace, "neck_rotation", "rotation", sign, side) for side, sign in _SIGNS.items())


def neck_side_bend(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return the largest bend towards the own left and the own right shoulder, in deg (see `_greatest`)."""
    return tuple(_greatest(trace, "neck_side_bend", "side_bend", sign, side) for side, sign in _SIGNS.items())


def neck_flexion(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return how far the chin went down towards the chest, in deg (see `_greatest`)."""
    return (_greatest(trace, "neck_flexion", "flexion_extension", -1),)


def neck_extension(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return how far the face was raised, in deg (see `_greatest`)."""
    return (_greatest(trace, "neck_extension", "flexion_extension", 1),)


def _greatest(trace: xr.DataArray, key: str, angle: str, sign: int, side: Side | None = None) -> Estimate:
    """Largest angle one way, at least 0, with the learned bias of `key` taken off.

    That of a rotation goes with how far the head was then turned from the camera: the model reads a face that it sees
    from the side as turned too little.

    Noise: that of the film's own angles, what is unsure where the body's points told the angle, for a rotation what is
    unsure of the trunk's turn, and 3 deg where the shoulders were not seen.
    """
    seen = looked_at(trace)
    towards = sign * seen.sel(angle=angle).values
    if np.isfinite(towards).sum() < _LEAST_FRAMES:
        return unstated(trace, side=side)
    place = int(np.nanargmax(towards))
    trunk = float(seen["trunk"].values[place])
    noise, weak = [trace.attrs["noise_deg"][_ANGLES.index(angle)]], []
    noise.append(float(seen["unsure"].values[place]))
    view_deg = 0.0
    if angle == "rotation":
        noise.append(float(seen["trunk_unsure"].values[place]))
        view_deg = abs(float(seen["yaw"].values[place]))
    if not math.isfinite(trunk):
        noise.append(_NO_SHOULDERS_DEG)
        weak.append(Reason.BODY_OUT_OF_VIEW)
    elif abs(trunk) > TRUNK_DEG:
        weak.append(Reason.TRUNK_TURNED)
    unsure = float(np.linalg.norm(np.nan_to_num(noise)))
    number = bias(key).corrected(max(float(towards[place]), 0.0), noise=unsure, view_deg=view_deg)
    moment = Interval(float(seen["time"].values[place]), float(seen["time"].values[place]))
    return stated(trace, number.within(0.0), weak=tuple(weak), rests_on=(moment,), side=side)


def rotations(trace: xr.DataArray) -> tuple[Event, ...]:
    """List rotations of more than `MOVED_DEG`: "rotation_left", "rotation_right" (see `_moves`)."""
    return _both(_moves(trace, "rotation", side, sign) for side, sign in _SIGNS.items())


def side_bends(trace: xr.DataArray) -> tuple[Event, ...]:
    """List bends of more than `MOVED_DEG`: "side_bend_left", "side_bend_right" (see `_moves`)."""
    return _both(_moves(trace, "side_bend", side, sign) for side, sign in _SIGNS.items())


def flexions(trace: xr.DataArray) -> tuple[Event, ...]:
    """List the times at which the chin went down by more than `MOVED_DEG`: "flexion"."""
    return _both([_moves(trace, "flexion", None, -1)])


def extensions(trace: xr.DataArray) -> tuple[Event, ...]:
    """List the times at which the face went up by more than `MOVED_DEG`: "extension"."""
    return _both([_moves(trace, "extension", None, 1)])


def _both(found: Iterable[list[Event]]) -> tuple[Event, ...]:
    return tuple(sorted((event for events in found for event in events), key=lambda event: event.interval))


def _moves(trace: xr.DataArray, kind: str, side: Side | None, sign: int) -> list[Event]:
    """Movements one way for at least 0.2 s, from where they pass `MOVED_DEG`; ``peak`` in deg."""
    seen = looked_at(trace)
    angle = kind if kind in _ANGLES else "flexion_extension"
    towards = sign * seen.sel(angle=angle).values
    times = seen["time"].values
    found = runs_above(times, towards, MOVED_DEG, min_s=_SHORT_S, bridge_s=_SHORT_S, max_step_s=_HOLE_S)
    name = f"{kind}_{side}" if side else kind
    return [
        Event(name, Interval(run.onset_s, run.offset_s), side, float(np.nanmax(towards[run.samples]))) for run in found
    ]


def _neck_drawn(tracks: xr.Dataset, angle: str, unit: str) -> tuple[Part, ...]:
    reading = np.asarray(neck_from_rest(tracks).sel(angle=angle).values, np.float64)
    shoulders = body(tracks, "left_shoulder", "right_shoulder")
    ears = body(tracks, "left_ear", "right_ear")
    return (
        facing(tracks, reading, unit),
        eye_line(tracks),
        Part(kind="line", words="shoulder to shoulder", stream="pose", places=shoulders),
        Part(kind="points", words="ears, where the face is lost", stream="pose", places=ears),
    )


def rotation_drawn(tracks: xr.Dataset) -> tuple[Part, ...]:
    """Draw where the face looks, the line of the eyes and that of the shoulders, with the rotation to own left."""
    return _neck_drawn(tracks, "rotation", "deg to own left")


def nod_drawn(tracks: xr.Dataset) -> tuple[Part, ...]:
    """Draw where the face looks, the line of the eyes and that of the shoulders, with the extension."""
    return _neck_drawn(tracks, "flexion_extension", "deg up")


def bend_drawn(tracks: xr.Dataset) -> tuple[Part, ...]:
    """Draw where the face looks, the line of the eyes and that of the shoulders, with the bend to own left."""
    return _neck_drawn(tracks, "side_bend", "deg to own left")


_NEEDS = (Need("face", 15.0), Need("pose", 15.0))
_REFERENCE = "common practice, no source"

MEASURES = (
    Measure(
        name="neck_rotation",
        title="Neck rotation to each side",
        trace=neck_from_rest,
        summarise=neck_rotation,
        events=rotations,
        unit="deg",
        construction=rotation_drawn,
        needs=_NEEDS,
        curve="Head against trunk",
        reference=_REFERENCE,
    ),
    Measure(
        name="neck_flexion",
        title="Neck flexion",
        trace=neck_from_rest,
        summarise=neck_flexion,
        events=flexions,
        unit="deg",
        construction=nod_drawn,
        needs=_NEEDS,
        curve="Head against trunk",
        reference=_REFERENCE,
    ),
    Measure(
        name="neck_extension",
        title="Neck extension",
        trace=neck_from_rest,
        summarise=neck_extension,
        events=extensions,
        unit="deg",
        construction=nod_drawn,
        needs=_NEEDS,
        curve="Head against trunk",
        reference=_REFERENCE,
    ),
    Measure(
        name="neck_side_bend",
        title="Neck bent to each side",
        trace=neck_from_rest,
        summarise=neck_side_bend,
        events=side_bends,
        unit="deg",
        construction=bend_drawn,
        needs=_NEEDS,
        curve="Head against trunk",
        reference=_REFERENCE,
    ),
)
