"""A made-up face that looks at the camera, and fingertips that go through places given beside it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.tracks import FACE_POINTS, FOUND, empty_tracks

Series = npt.NDArray[np.float64]
Place = tuple[float, float, float]
"""Seconds stayed there, how far to the examined person's own left, how far up."""

_EYES = {33: (-0.5, 0.0), 133: (-0.18, 0.0), 362: (0.18, 0.0), 263: (0.5, 0.0)}
EYE_SHARE = 0.62
"""Distance of the outer eye corners in widths of the face."""


@dataclass(frozen=True)
class Scene:
    """A face and the clock of its film.

    Parameters
    ----------
    width_px, middle_px
        Width of the face, and the middle of its eyes, px.
    rate_hz
        Frames a second.
    yaw_deg
        Turn of the head that is told.
    """

    width_px: float = 160.0
    middle_px: tuple[float, float] = (480.0, 300.0)
    rate_hz: float = 30.0
    yaw_deg: float = 0.0


def way(*places: Place, move_s: float = 0.4) -> tuple[Series, Series]:
    """Return knots of time and place, shape ``(n,)`` and ``(n, 2)``, of a tip that stays at each and moves between."""
    knots: list[float] = []
    where: list[tuple[float, float]] = []
    now = 0.0
    for seconds, x, y in places:
        knots += [now, now + seconds]
        where += [(x, y), (x, y)]
        now += seconds + move_s
    return np.array(knots), np.array(where)


def hand_tracks(
    scene: Scene, knots: Series, where: Series, unit_px: float, variable: str = "other_hand_xy", noise_px: float = 0.0
) -> xr.Dataset:
    """Return the tracks of a film in which a hand's index finger goes through places about the eyes' middle.

    Parameters
    ----------
    knots, where
        As from `way`; `where` in units of `unit_px`, + own left (the picture's right) and + up.
    variable
        Whose hand it is.
    noise_px
        Standard deviation of the finger's place.
    """
    times = np.arange(0, knots[-1], 1 / scene.rate_hz)
    tracks = empty_tracks(times, 960, 720)
    for stream in ("face", "hand"):
        tracks[f"{stream}_state"].values[:] = FOUND
    middle = np.array(scene.middle_px)
    eyes_px = EYE_SHARE * scene.width_px
    face = tracks["face_xy"].values
    face[:] = middle
    for point, (x, y) in _EYES.items():
        face[:, FACE_POINTS.index(point)] = middle + eyes_px * np.array([x, -y])
    tracks["face_width"].values[:] = scene.width_px
    tracks["head_angle"].values[:] = 0.0
    tracks["head_angle"].loc[{"angle": "yaw"}] = scene.yaw_deg
    tip = np.stack([np.interp(times, knots, where[:, axis]) for axis in (0, 1)], axis=1) * [unit_px, -unit_px] + middle
    tip += np.random.default_rng(4).normal(0, noise_px, tip.shape) if noise_px else 0.0
    put_hand(tracks, tip, scene.width_px, variable)
    return tracks


def put_hand(tracks: xr.Dataset, tip: Series, width_px: float, variable: str) -> None:
    """Put a hand as long as a face is wide into the tracks, its index finger's tip at `tip`, its thumb spread."""
    shape = np.zeros((21, 2))
    shape[:, 1] = width_px
    shape[5:9, 1] = np.array([0.5, 0.3, 0.15, 0.0]) * width_px
    shape[9] = [0.0, 0.5 * width_px]
    shape[17] = [0.4 * width_px, 0.5 * width_px]
    shape[1:5, 0] = -0.4 * width_px
    tracks[variable].values[:, 0] = tip[:, None] + shape


def mirrored(tracks: xr.Dataset) -> xr.Dataset:
    """Return what the same room would give in a mirror: places flipped, and each eye corner become the other side's."""
    flipped = tracks.copy(deep=True)
    face = flipped["face_xy"].values
    kept = {point: face[:, FACE_POINTS.index(point)].copy() for point in _EYES}
    for point, other in {33: 263, 133: 362, 362: 133, 263: 33}.items():
        face[:, FACE_POINTS.index(point)] = kept[other]
    for name in ("face_xy", "hand_xy", "other_hand_xy"):
        flipped[name].values[..., 0] = flipped.attrs["width_px"] - flipped[name].values[..., 0]
    flipped["head_angle"].loc[{"angle": "yaw"}] *= -1
    return flipped
