"""A made-up head in three dimensions over shoulders: turned, nodded, tilted; corners of the mouth, brows, jaw moved.

Lengths are in distances of the outer eye corners, seen from far away; x to the person's own left, y up, z forwards.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.tracks import FACE_OUTLINE, FOUND
from tests.synthetic_face import Face, Value, face_tracks

EYE_MM = 90.0
"""Distance of the outer eye corners of this head."""

RING = (
    *(10, 338, 297, 332, 284, 251, 389, 356, 454, 323, 361, 288, 397, 365, 379, 378, 400, 377),
    *(152, 148, 176, 149, 150, 136, 172, 58, 132, 93, 234, 127, 162, 21, 54, 103, 67, 109),
)
LIPS = (61, 146, 91, 181, 84, 17, 314, 405, 321, 375, 291, 409, 270, 269, 267, 0, 37, 39, 40, 185)
_EYE = {
    "left": {263: (0.5, 0), 362: (0.2, 0), 385: (0.3, 1), 387: (0.4, 1), 373: (0.4, -1), 380: (0.3, -1)},
    "right": {33: (-0.5, 0), 133: (-0.2, 0), 158: (-0.3, 1), 160: (-0.4, 1), 144: (-0.4, -1), 153: (-0.3, -1)},
}
_IRIS = {473: (0.35, 0), 474: (0.415, 0), 476: (0.285, 0), 468: (-0.35, 0), 469: (-0.285, 0), 471: (-0.415, 0)}
_BROW = {
    "left": {285: (0.14, 0.25), 336: (0.19, 0.3), 296: (0.3, 0.36), 334: (0.42, 0.36), 300: (0.6, 0.25)},
    "right": {55: (-0.14, 0.25), 107: (-0.19, 0.3), 66: (-0.3, 0.36), 105: (-0.42, 0.36), 70: (-0.6, 0.25)},
}
_CHIN = {176: -0.2, 148: -0.1, 152: 0.0, 377: 0.1, 400: 0.2}
_BODY = {"nose": (0, -0.49, 0.49), "left_ear": (0.75, -0.15, -1.0), "right_ear": (-0.75, -0.15, -1.0)}
_SHOULDERS = {"left_shoulder": 1.7, "right_shoulder": -1.7}


@dataclass(frozen=True)
class Head:
    """What head and trunk do; each value is one number or one for each frame.

    Parameters
    ----------
    angles
        Head's yaw (+ own left), pitch (+ up) and roll (+ tilted to own left), deg.
    trunk
        Turn (+ own left) and lean (+ to own left) of the shoulders, deg.
    corners
        How far the (left, right) corner of the mouth moved: (outwards, upwards).
    brows
        How far the (left, right) brow went up.
    brows_in
        How far each brow went towards the other.
    closed
        How far the (left, right) eye is shut, 0 to 1.
    gap, jaw
        Gap between the lips, and how far the jaw went to own left.
    weights
        Expression weights by name.
    eye_px, centre
        Distance of the outer eye corners in the picture and the place of their middle, px.
    noise_px
        Standard deviation of the noise on every coordinate.
    """

    angles: tuple[Value, Value, Value] = (0.0, 0.0, 0.0)
    trunk: tuple[Value, Value] = (0.0, 0.0)
    corners: tuple[tuple[Value, Value], tuple[Value, Value]] = ((0.0, 0.0), (0.0, 0.0))
    brows: tuple[Value, Value] = (0.0, 0.0)
    brows_in: Value = 0.0
    closed: tuple[Value, Value] = (0.0, 0.0)
    gap: Value = 0.0
    jaw: Value = 0.0
    weights: Mapping[str, Value] = field(default_factory=dict)
    eye_px: float = 150.0
    centre: tuple[float, float] = (640.0, 300.0)
    noise_px: float = 0.0


def mirrored(head: Head) -> Head:
    """Return the head as in a mirror: what the left did the right does."""
    yaw, pitch, roll = (np.asarray(angle) for angle in head.angles)
    swapped = {"Left": "Right", "Right": "Left"}
    names = {
        name: next((name.removesuffix(a) + b for a, b in swapped.items() if name.endswith(a)), name)
        for name in head.weights
    }
    return replace(
        head,
        angles=(-yaw, pitch, -roll),
        trunk=(-np.asarray(head.trunk[0]), -np.asarray(head.trunk[1])),
        corners=head.corners[::-1],
        brows=head.brows[::-1],
        closed=head.closed[::-1],
        jaw=-np.asarray(head.jaw),
        weights={names[name]: value for name, value in head.weights.items()},
    )


def head_tracks(times: npt.ArrayLike, head: Head) -> xr.Dataset:
    """Make the tracks of a film in which face and body were found in every frame."""
    shut = (np.asarray(head.closed[0]), np.asarray(head.closed[1]))
    tracks = face_tracks(times, Face(blink=shut, angles=head.angles, width_px=1.55 * head.eye_px))
    tracks["pose_state"][:] = FOUND
    tracks["pose_visibility"][:] = 1.0
    for shape, value in head.weights.items():
        tracks["blendshape"].loc[{"shape": shape}] = value
    for point, place in _face_places(head).items():
        _put(tracks, "face_xy", "face_point", point, _seen(tracks, head, place))
    for point, place in _BODY.items():
        _put(tracks, "pose_xy", "pose_point", point, _seen(tracks, head, place))
    _put_shoulders(tracks, head)
    if head.noise_px:
        random = np.random.default_rng(7)
        for name in ("face_xy", "pose_xy"):
            tracks[name][:] = tracks[name].values + random.normal(0, head.noise_px, tracks[name].shape)
    return tracks


def _face_places(head: Head) -> dict[int, tuple[Value, Value, Value]]:
    places: dict[int, tuple[Value, Value, Value]] = {point: (x, y, 0.05) for point, (x, y) in _IRIS.items()}
    for number, (side, sign) in enumerate((("left", 1), ("right", -1))):
        open_ = 0.05 * (1 - np.asarray(head.closed[number]))
        places |= {point: (x, y * open_, 0.0) for point, (x, y) in _EYE[side].items()}
        up, inward = np.asarray(head.brows[number]), sign * np.asarray(head.brows_in)
        places |= {point: (x - inward, y + up, 0.12) for point, (x, y) in _BROW[side].items()}
        out, raised = (np.asarray(way) for way in head.corners[number])
        places[291 if side == "left" else 61] = (sign * (0.28 + out), raised - 0.81, 0.09)
    gap, jaw = np.asarray(head.gap), np.asarray(head.jaw)
    for number, point in enumerate(LIPS):
        turn = 2 * np.pi * number / len(LIPS)
        below = np.maximum(np.sin(turn), 0.0) * gap
        places.setdefault(point, (-0.28 * np.cos(turn), -0.81 - 0.12 * np.sin(turn) - below, 0.25))
    places |= {1: (0, -0.49, 0.49), 2: (0, -0.56, 0.32), 13: (0, -0.81, 0.27), 14: (jaw, -0.81 - gap, 0.27)}
    places |= {17: (jaw, -0.95 - gap, 0.27), 0: (0, -0.7, 0.3)}
    for number, point in enumerate(RING):
        turn = 2 * np.pi * number / len(RING)
        places[point] = (0.775 * np.sin(turn), 1.1 * np.cos(turn) - 0.3, -0.3)
    for point, out in _CHIN.items():
        places[point] = (out + jaw, -1.4 - gap, 0.12 - 0.5 * gap)
    return places


def _seen(tracks: xr.Dataset, head: Head, place: tuple[Value, Value, Value]) -> npt.NDArray[np.float64]:
    x, y, z = (np.broadcast_to(np.asarray(part, float), tracks.sizes["time"]) for part in place)
    yaw, pitch, roll = (np.radians(np.asarray(angle, float)) for angle in head.angles)
    y, z = y * np.cos(pitch) + z * np.sin(pitch), z * np.cos(pitch) - y * np.sin(pitch)
    x = x * np.cos(yaw) + z * np.sin(yaw)
    x, y = x * np.cos(roll) + y * np.sin(roll), y * np.cos(roll) - x * np.sin(roll)
    return np.stack([head.centre[0] + head.eye_px * x, head.centre[1] - head.eye_px * y], axis=1)


def _put_shoulders(tracks: xr.Dataset, head: Head) -> None:
    turn, lean = (np.radians(np.broadcast_to(np.asarray(way, float), tracks.sizes["time"])) for way in head.trunk)
    for point, out in _SHOULDERS.items():
        x, y = out * np.cos(turn) * np.cos(lean), -2.6 - out * np.sin(lean)
        shown = np.stack([head.centre[0] + head.eye_px * x, head.centre[1] - head.eye_px * y], axis=1)
        _put(tracks, "pose_xy", "pose_point", point, shown)
        metres = 0.1 * np.stack([out * np.cos(turn), -y, out * np.sin(turn)], axis=1)
        _put(tracks, "pose_world", "pose_point", point, metres)


def _put(tracks: xr.Dataset, variable: str, dim: str, point: object, places: npt.NDArray[np.float64]) -> None:
    tracks[variable].loc[{dim: point}] = places


def held(times: npt.NDArray[np.float64], onset: float, offset: float, height: float = 1.0) -> npt.NDArray[np.float64]:
    """Rise from 0 to `height` in the 0.4 s after `onset` and go back in the 0.4 s before `offset`."""
    up, down = np.clip((times - onset) / 0.4, 0, 1), np.clip((offset - times) / 0.4, 0, 1)
    return height * (1 - np.cos(np.pi * np.minimum(up, down))) / 2


def thinned(tracks: xr.Dataset, share: float = 0.2) -> xr.Dataset:
    """Drop a share of the frames, drawn by lot; the first and the last stay."""
    kept = np.random.default_rng(5).random(tracks.sizes["time"]) >= share
    kept[[0, -1]] = True
    return tracks.isel(time=np.flatnonzero(kept))


assert set(RING) == set(FACE_OUTLINE)
