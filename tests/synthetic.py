"""A standing person as tracks, drawn from a few numbers, so that every measure of it has a closed form.

The person is drawn the way the pose model places its points: ankles apart by 0.025 shoulder widths more than they are.
"""

from collections.abc import Callable

import numpy as np
import xarray as xr

from review.domain.tracks import FOUND, POSE_POINTS, empty_tracks

DRAWN_SPREADING = 0.025

HEIGHTS = {
    "nose": 0.92,
    "eye_inner": 0.936,
    "eye": 0.936,
    "eye_outer": 0.936,
    "ear": 0.93,
    "mouth": 0.9,
    "shoulder": 0.818,
    "elbow": 0.63,
    "wrist": 0.49,
    "pinky": 0.45,
    "index": 0.45,
    "thumb": 0.46,
    "hip": 0.53,
    "knee": 0.285,
    "ankle": 0.039,
    "heel": 0.01,
    "foot_index": 0.01,
}
HALF_WIDTHS = {"nose": 0.0, "eye_inner": 0.01, "eye": 0.018, "eye_outer": 0.026, "ear": 0.04, "mouth": 0.015}
"""Half distances of paired head points in standing heights."""

SHOULDER_WIDTH = 0.21


def clock(seconds: float, rate_hz: float = 30.0) -> np.ndarray:
    """Even presentation times from 0 up to `seconds`."""
    return np.arange(round(seconds * rate_hz)) / rate_hz


def shaken(times: np.ndarray, share: float = 0.3, seed: int = 1) -> np.ndarray:
    """Make the steps of a clock uneven by up to `share` of a step, still rising."""
    step = np.median(np.diff(times))
    moved = times + np.random.default_rng(seed).uniform(0, share * step, len(times))
    return moved - moved[0]


def still(times: np.ndarray) -> np.ndarray:
    """No movement."""
    return np.zeros_like(times)


def standing(
    times: np.ndarray,
    *,
    stance: float | np.ndarray = 1.0,
    sway_px: Callable[[np.ndarray], np.ndarray] = still,
    walk_px: Callable[[np.ndarray], np.ndarray] = still,
    height_px: float = 640.0,
    height_mm: float | None = None,
    noise_px: float = 0.0,
    turn_deg: float = 0.0,
    size: tuple[int, int] = (1280, 720),
    seed: int = 0,
) -> xr.Dataset:
    """Draw a person who stands in the picture's middle and sways as a stiff rod about the ankles.

    Parameters
    ----------
    stance
        True distance of the ankles in true shoulder widths, one number or one for each time.
    sway_px
        Sideways displacement of the shoulders' middle from above the feet, px, at the times given.
    walk_px
        Sideways displacement of the whole person, feet included.
    height_px, height_mm
        Standing height in the picture; what the tracks say of it in mm.
    noise_px
        Standard deviation of white noise on every coordinate.
    turn_deg
        Turn of the body about the vertical.
    """
    tracks = empty_tracks(times, *size, height_mm=height_mm)
    turn = np.radians(turn_deg)
    floor_y = size[1] / 2 + 0.48 * height_px
    lean, walk = sway_px(times), walk_px(times)
    for index, name in enumerate(POSE_POINTS):
        part, sign = _part(name)
        up = HEIGHTS[part]
        half = sign * height_px * _half_width(part, np.asarray(stance, float))
        along = lean * (up - HEIGHTS["ankle"]) / (HEIGHTS["shoulder"] - HEIGHTS["ankle"])
        tracks["pose_xy"].values[:, index, 0] = size[0] / 2 + walk + along + half * np.cos(turn)
        tracks["pose_xy"].values[:, index, 1] = floor_y - up * height_px
        metres = 1.75 / height_px
        tracks["pose_world"].values[:, index, 0] = metres * half * np.cos(turn)
        tracks["pose_world"].values[:, index, 1] = (HEIGHTS["hip"] - up) * 1.75
        tracks["pose_world"].values[:, index, 2] = metres * half * np.sin(turn)
    noise = np.random.default_rng(seed).normal(0, noise_px, tracks["pose_xy"].shape) if noise_px else 0.0
    tracks["pose_xy"].values[:] += noise
    tracks["pose_visibility"].values[:] = 0.99
    tracks["pose_state"].values[:] = FOUND
    return tracks


def _part(name: str) -> tuple[str, int]:
    """Split a point's name into its part and where it lies in the picture: the own left is at greater x."""
    if name.startswith("mouth_"):
        return "mouth", 1 if name.endswith("left") else -1
    side, _, rest = name.partition("_")
    return (rest, 1 if side == "left" else -1) if side in ("left", "right") else (name, 0)


def _half_width(part: str, stance: np.ndarray) -> np.ndarray | float:
    if part in ("ankle", "heel", "foot_index", "knee"):
        return (stance + DRAWN_SPREADING) * SHOULDER_WIDTH / 2
    return HALF_WIDTHS.get(part, SHOULDER_WIDTH / 2)


def with_picture(
    tracks: xr.Dataset,
    *,
    brightness: float = 0.5,
    contrast: float = 0.2,
    sharpness: float = 150.0,
    shift_px: Callable[[np.ndarray], np.ndarray] = still,
) -> xr.Dataset:
    """Add what is measured of the whole picture; `shift_px` gives the background's place along x at each time."""
    tracks["picture_state"].values[:] = FOUND
    for name, level in (("brightness", brightness), ("contrast", contrast), ("sharpness", sharpness)):
        tracks[name].values[:] = level
    place = shift_px(tracks["time"].values)
    tracks["background_shift"].values[:] = 0.0
    tracks["background_shift"].values[1:, 0] = np.diff(place)
    return tracks


def with_face(tracks: xr.Dataset, width_px: float = 200.0) -> xr.Dataset:
    """Say that a face of this width was found in every frame."""
    tracks["face_state"].values[:] = FOUND
    tracks["face_width"].values[:] = width_px
    return tracks
