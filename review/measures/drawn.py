"""Corners for what is drawn of measures: body and face points of every frame, in px of the picture."""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.construction import Part
from review.domain.model import Side

Series = npt.NDArray[np.float64]

SIDES: Final[tuple[Side, Side]] = ("left", "right")

LIDS: Final[dict[Side, tuple[int, ...]]] = {
    "left": (362, 385, 387, 263, 373, 380),
    "right": (33, 160, 158, 133, 153, 144),
}
"""Face points around each eye: corner, two on the upper lid, other corner, two on the lower lid going back."""

IRISES: Final[dict[Side, tuple[int, ...]]] = {"left": (474, 475, 476, 477), "right": (469, 470, 471, 472)}
"""Face points around each iris."""

_LIKELY_SEEN = 0.5
_FACING_LENGTH = 1.2
_MOST_DEG = 85.0


def body(tracks: xr.Dataset, *names: str) -> Series:
    """Return body points where they are likely seen, shape ``(time, name, 2)``, px.

    Parameters
    ----------
    tracks
        Landmark dataset.
    names
        As in `review.domain.tracks.POSE_POINTS`; several joined by a plus stand for the middle between them.
    """
    corners = []
    for name in names:
        wanted = name.split("+")
        places = tracks["pose_xy"].sel(pose_point=wanted).values.astype(np.float64)
        seen = tracks["pose_visibility"].sel(pose_point=wanted).values >= _LIKELY_SEEN
        corners.append(np.where(seen[:, :, None], places, np.nan).mean(axis=1))
    return np.stack(corners, axis=1)


def both(part: str) -> str:
    """Return the name of the middle of a left and right body point, for `body`."""
    return f"left_{part}+right_{part}"


def face(tracks: xr.Dataset, *points: int) -> Series:
    """Return face points, shape ``(time, point, 2)``, px."""
    return np.asarray(tracks["face_xy"].sel(face_point=list(points)).values, dtype=np.float64)


def joined(*corners: Series) -> Series:
    """Join places of shape ``(time, 2)`` to corners of shape ``(time, corner, 2)``."""
    return np.stack(corners, axis=1)


def eye_line(tracks: xr.Dataset) -> Part:
    """Return the line between the outer corners of the eyes: the face's own frame and its unit of length."""
    return Part(kind="line", words="outer corners of the eyes", stream="face", places=face(tracks, 33, 263))


def facing(tracks: xr.Dataset, reading: Series | None = None, unit: str = "deg") -> Part:
    """Return an arrow from the tip of the nose to where the face looks.

    A rod of 1.2 distances of the outer eye corners, seen from the front:
    ``(sin(yaw) cos(pitch), -sin(pitch))`` of its length, with yaw to own left and pitch up towards the camera.
    """
    angles = [
        np.radians(np.clip(tracks["head_angle"].sel(angle=name).values.astype(np.float64), -_MOST_DEG, _MOST_DEG))
        for name in ("yaw", "pitch")
    ]
    nose, eyes = face(tracks, 1)[:, 0], face(tracks, 33, 263)
    length = _FACING_LENGTH * np.linalg.norm(eyes[:, 1] - eyes[:, 0], axis=1) / np.cos(angles[0])
    way = np.stack([np.sin(angles[0]) * np.cos(angles[1]), -np.sin(angles[1])], axis=1)
    tip = nose + length[:, None] * way
    return Part(
        kind="arrow", words="where the face looks", stream="face", places=joined(nose, tip), reading=reading, unit=unit
    )


def lids(tracks: xr.Dataset, closed: xr.DataArray | None = None) -> tuple[Part, ...]:
    """Return a ring around each eye, with how far it is shut (0 to 1) where that is given over time and side."""
    return tuple(
        Part(
            kind="ring",
            words=f"lids of the {side} eye",
            stream="face",
            places=face(tracks, *LIDS[side]),
            reading=None if closed is None else np.asarray(closed.sel(side=side).values, np.float64),
            unit="shut" if closed is not None else "",
            side=side,
        )
        for side in SIDES
    )
