"""Places in the face's own frame: tilt, size and place in the picture taken out, turn and nod put right."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

Series = npt.NDArray[np.float64]

EYE_CORNERS: Final = {"right": (33, 133), "left": (263, 362)}
"""Outer and inner corner of each eye."""

IRIS_MM: Final = 11.7
"""Width of the visible iris, 11.7 +- 0.5 mm in adults: Vakunov A, Lagun D (2020), Google Research blog."""

IRIS_SD: Final = 0.5 / 11.7
"""Standard deviation of that width between people, as a share of it."""

_IRIS_EDGES = ((469, 471), (474, 476))
_OUTLINE_TURN_DEG = 60.0


def place(tracks: xr.Dataset, *points: int) -> Series:
    """Return the mean of some face points in the picture, shape ``(time, 2)``, px, y down."""
    places = np.asarray(tracks["face_xy"].sel(face_point=list(points)).values, np.float64)
    return np.asarray(places.mean(axis=1))


def head_angle(tracks: xr.Dataset, angle: str) -> Series:
    """Return one of the head's angles towards the camera, deg, shape ``(time,)``."""
    return np.asarray(tracks["head_angle"].sel(angle=angle).values, np.float64)


def eye_distance(tracks: xr.Dataset) -> Series:
    """Return the distance of the outer eye corners as seen from the front, px: divided by the cosine of yaw."""
    apart = place(tracks, EYE_CORNERS["left"][0]) - place(tracks, EYE_CORNERS["right"][0])
    yaw = np.clip(head_angle(tracks, "yaw"), -_OUTLINE_TURN_DEG, _OUTLINE_TURN_DEG)
    return np.asarray(np.hypot(apart[:, 0], apart[:, 1]) / np.cos(np.radians(yaw)))


def in_face(tracks: xr.Dataset, points: Sequence[int]) -> Series:
    """Return the mean of some face points in the face's own frame, as projected into the picture.

    Origin in the middle of the four eye corners, x along the line of the eyes (+ own left), y across it (+ up), in
    units of `eye_distance`. Tilt, size and place of the head drop out; turn and nod do not (see `across`, `upward`).

    Returns
    -------
    ndarray
        Shape ``(time, 2)``; NaN where a point is missing.
    """
    right, left = place(tracks, *EYE_CORNERS["right"]), place(tracks, *EYE_CORNERS["left"])
    line = left - right
    along = line / np.linalg.norm(line, axis=1, keepdims=True)
    up = np.stack([along[:, 1], -along[:, 0]], axis=1)
    away = (place(tracks, *points) - (left + right) / 2) / eye_distance(tracks)[:, None]
    return np.stack([(away * along).sum(axis=1), (away * up).sum(axis=1)], axis=1)


def across(x: Series, yaw_deg: Series, depth: float | Series, slope: float = 0.0) -> Series:
    """Put right for the turn of the head how far a point lies to own left.

    Seen turned by ``yaw``, a point at ``x`` and ``depth`` before the eyes appears at
    ``x cos(yaw) + (depth - slope x) sin(yaw)``.

    Parameters
    ----------
    x
        As from `in_face`, shape ``(time,)``.
    yaw_deg
        Turn to own left towards the camera.
    depth
        How far before the eyes the point lies where ``x`` is 0, in eye distances.
    slope
        By how much it goes back for each unit to own left: the cheek is round.
    """
    turn = np.radians(yaw_deg)
    return np.asarray((x - depth * np.sin(turn)) / (np.cos(turn) - slope * np.sin(turn)))


def upward(y: Series, pitch_deg: Series, depth: float) -> Series:
    """Put right for the nod of the head how high a point lies: seen as ``y cos(pitch) + depth sin(pitch)``."""
    nod = np.radians(pitch_deg)
    return np.asarray((y - depth * np.sin(nod)) / np.cos(nod))


def iris_width(tracks: xr.Dataset) -> Series:
    """Return the mean width of both irises as seen from the front, px, shape ``(time,)``."""
    yaw = np.clip(head_angle(tracks, "yaw"), -_OUTLINE_TURN_DEG, _OUTLINE_TURN_DEG)
    widths = [np.linalg.norm(place(tracks, one) - place(tracks, other), axis=1) for one, other in _IRIS_EDGES]
    return np.asarray(np.mean(widths, axis=0) / np.cos(np.radians(yaw)))
