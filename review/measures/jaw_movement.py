"""Jaw movement: how far the mouth opens and how far the jaw goes to either side, in mm by the width of the irises."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.construction import Part
from review.domain.measure import Measure, Need, with_reasons
from review.domain.model import Estimate, Interval, Reason, Side
from review.measures.drawn import eye_line, face, joined
from review.measures.eye_closure import CLOSED, closed_by_eye
from review.measures.face_frame import IRIS_MM, IRIS_SD, across, eye_distance, head_angle, in_face, iris_width, upward
from review.measures.face_view import face_reasons, looked_at
from review.measures.hand_over_face import LIPS, hand_over
from review.measures.learned import bias
from review.measures.own_rest import resting_value
from review.signals.estimates import stated, unstated
from review.signals.filtering import low_pass
from review.signals.uncertainty import median_error, noise_sd

Series = npt.NDArray[np.float64]

MIN_FACE_PX: Final = 100.0
MAX_YAW_DEG: Final = 20.0

_UPPER_LIP, _LOWER_LIP, _NOSE_BASE = 13, 14, 2
_CHIN = (148, 152, 176, 377, 400)
_LIP_DEPTH, _CHIN_DEPTH, _NOSE_DEPTH = 0.27, 0.12, 0.32
_BACK_BY_OPENING = 0.5
_ASIDE_SD = 1.5
_MOUTH_GROWN = 1.3
_SIGNS: Final[dict[Side, int]] = {"left": 1, "right": -1}
_CUTOFF_HZ = 4.0
_REST_MM = 1.0
_ACTIVE = 0.2
_LEAST_FRAMES = 5


def jaw_from_rest(tracks: xr.Dataset) -> xr.DataArray:
    """How far the lips are apart and the jaw lies to the side, from rest, in mm.

    Opening: the distance of the inner edges of the lips (points 13 and 14) across the line of the eyes, put right for
    the nod of the head. Side: the way of the chin (mean of points 148, 152, 176, 377 and 400) along the line of the
    eyes against the base of the nose (point 2), each put right for the turn of the head by how far it lies before the
    eyes (0.12 and 0.32 eye distances; a jaw that opens goes back by half of the opening). In mm by the width of the
    irises, 11.7 mm, as its median over the frames with open eyes. Each less its value at rest
    (`review.measures.own_rest.resting_value`, where the expression weights say that the mouth is shut), low-passed at
    4 Hz without a shift.

    Parameters
    ----------
    tracks
        Landmark dataset; needs all face variables, ``hand_xy`` and ``other_hand_xy``. 15 frames a second.

    Returns
    -------
    DataArray
        Over ``time`` and ``way``: opening, side (+ to own left), unit "mm", with the coordinates ``reason`` and ``yaw``
        (of the head towards the camera, deg). NaN where
        the face was not found, is narrower than `MIN_FACE_PX` or turned further than `MAX_YAW_DEG`, in the dark, and
        where a hand is over the mouth. Attributes ``noise_mm`` (of each way) and ``scale_sd`` (of the irises'
        width in the picture, as a share).

    References
    ----------
    Vakunov A, Lagun D (2020), Google Research blog: visible iris of 11.7 +- 0.5 mm. The rest: common practice.
    """
    reason = face_reasons(tracks, MIN_FACE_PX, MAX_YAW_DEG)
    reason[(reason == Reason.NONE) & hand_over(tracks, LIPS, _MOUTH_GROWN)] = Reason.HAND_OVER_FACE
    usable = reason == Reason.NONE
    eye_mm, scale_sd = _eye_distance_mm(tracks, usable)
    times = tracks["time"].values
    opened = tracks["blendshape"].sel(shape="jawOpen").values.astype(np.float64)
    likely = np.exp(-0.5 * (np.nan_to_num(opened) / _ACTIVE) ** 2)
    ways = [np.where(usable, eye_mm * way, np.nan) for way in (_opening(tracks), _sideways(tracks))]
    ways = [way - resting_value(times, way, _REST_MM, likely) for way in ways]
    trace = xr.DataArray(
        np.stack([low_pass(times, way, _CUTOFF_HZ) for way in ways], axis=1),
        dims=("time", "way"),
        coords={"time": tracks["time"], "way": ["opening", "side"]},
        attrs={"noise_mm": [noise_sd(way) for way in ways], "scale_sd": scale_sd},
    )
    return with_reasons(trace, reason, "mm").assign_coords(yaw=("time", head_angle(tracks, "yaw")))


def _opening(tracks: xr.Dataset) -> Series:
    pitch = head_angle(tracks, "pitch")
    upper, lower = (upward(in_face(tracks, (lip,))[:, 1], pitch, _LIP_DEPTH) for lip in (_UPPER_LIP, _LOWER_LIP))
    return upper - lower


def _sideways(tracks: xr.Dataset) -> Series:
    yaw = head_angle(tracks, "yaw")
    jaw, nose = in_face(tracks, _CHIN)[:, 0], in_face(tracks, (_NOSE_BASE,))[:, 0]
    return across(jaw, yaw, _CHIN_DEPTH - _BACK_BY_OPENING * _opening(tracks)) - across(nose, yaw, _NOSE_DEPTH)


def _eye_distance_mm(tracks: xr.Dataset, usable: npt.NDArray[np.bool_]) -> tuple[float, float]:
    """Distance of the outer eye corners by the irises, and the share by which their width in the picture is unsure."""
    shut = closed_by_eye(tracks).max("side", skipna=False).values > CLOSED
    share = (iris_width(tracks) / eye_distance(tracks))[usable & ~shut]
    share = share[np.isfinite(share)]
    if len(share) == 0:
        return math.nan, math.nan
    middle = float(np.median(share))
    return IRIS_MM / middle, median_error(share) / middle


def jaw_opening(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return how far the lips came apart at most, in mm (see `_greatest`)."""
    return (_greatest(trace, "jaw_opening", "opening", 1),)


def jaw_side(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return how far the jaw went to own left and to own right at most, in mm (see `_greatest`)."""
    return tuple(_greatest(trace, "jaw_side", "side", sign, side) for side, sign in _SIGNS.items())


def _greatest(trace: xr.DataArray, key: str, way: str, sign: int, side: Side | None = None) -> Estimate:
    """Greatest way, at least 0, with the learned bias of `key` taken off.

    The interval joins the film's own noise, 4.3 % for the width of people's irises, what its measuring in the picture
    leaves open, and what is left of the bias; for a way to the side also 1.5 times the sine of the head's yaw, as a
    share: seen from 14 deg aside the model's chin went 0.31 of its way to the one side and 0.66 to the other.
    """
    seen = looked_at(trace)
    towards = sign * seen.sel(way=way).values
    if np.isfinite(towards).sum() < _LEAST_FRAMES:
        return unstated(trace, side=side)
    place = int(np.nanargmax(towards))
    noise = trace.attrs["noise_mm"][0 if way == "opening" else 1]
    aside = _ASIDE_SD * abs(math.sin(math.radians(float(seen["yaw"].values[place])))) if way == "side" else 0.0
    scale_sd = math.hypot(IRIS_SD, trace.attrs["scale_sd"], aside)
    number = bias(key).corrected(max(float(towards[place]), 0.0), noise=float(np.nan_to_num(noise)), scale_sd=scale_sd)
    moment = Interval(float(seen["time"].values[place]), float(seen["time"].values[place]))
    return stated(trace, number.within(0.0), rests_on=(moment,), side=side)


def opening_drawn(tracks: xr.Dataset) -> tuple[Part, ...]:
    """Draw the line between the inner edges of the lips, with the opening, and the irises' widths that scale it."""
    opening = np.asarray(jaw_from_rest(tracks).sel(way="opening").values, np.float64)
    lips = face(tracks, _UPPER_LIP, _LOWER_LIP)
    return (
        Part(kind="line", words="lip to lip", stream="face", places=lips, reading=opening, unit="mm from rest"),
        *_irises_drawn(tracks),
    )


def side_drawn(tracks: xr.Dataset) -> tuple[Part, ...]:
    """Draw the way from the base of the nose to the jaw, how far it went aside, and the line of the eyes."""
    aside = np.asarray(jaw_from_rest(tracks).sel(way="side").values, np.float64)
    nose, jaw = face(tracks, _NOSE_BASE)[:, 0], face(tracks, *_CHIN).mean(axis=1)
    return (
        Part(
            kind="line",
            words="nose to jaw",
            stream="face",
            places=joined(nose, jaw),
            reading=aside,
            unit="mm to own left",
        ),
        eye_line(tracks),
        *_irises_drawn(tracks),
    )


def _irises_drawn(tracks: xr.Dataset) -> tuple[Part, ...]:
    return tuple(
        Part(kind="line", words="width of the iris, the scale", stream="face", places=face(tracks, *edges))
        for edges in ((469, 471), (474, 476))
    )


_NEEDS = (Need("face", 15.0), Need("hand", 5.0))
_REFERENCE = "Vakunov A, Lagun D (2020), Google Research blog, for the iris; the rest: common practice, no source"

MEASURES = (
    Measure(
        name="jaw_opening",
        title="Mouth opened",
        trace=jaw_from_rest,
        summarise=jaw_opening,
        unit="mm",
        construction=opening_drawn,
        needs=_NEEDS,
        curve="Jaw from rest",
        reference=_REFERENCE,
    ),
    Measure(
        name="jaw_side",
        title="Jaw moved to each side",
        trace=jaw_from_rest,
        summarise=jaw_side,
        unit="mm",
        construction=side_drawn,
        needs=_NEEDS,
        curve="Jaw from rest",
        reference=_REFERENCE,
    ),
)
