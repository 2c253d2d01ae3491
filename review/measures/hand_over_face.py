"""Whether a hand is before the face, or before the mouth: then what the face does there cannot be believed."""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.tracks import found
from review.signals.filtering import spread_in_time

OUTLINE: Final = (
    *(10, 338, 297, 332, 284, 251, 389, 356, 454, 323, 361, 288, 397, 365, 379, 378, 400, 377),
    *(152, 148, 176, 149, 150, 136, 172, 58, 132, 93, 234, 127, 162, 21, 54, 103, 67, 109),
)
"""Face points around the face, in order."""

LIPS: Final = (*(61, 146, 91, 181, 84, 17, 314, 405, 321, 375, 291, 409, 270, 269, 267, 0, 37, 39, 40, 185),)
"""Face points around the lips, in order."""

_BETWEEN_LOOKS_S = 0.25

Points = npt.NDArray[np.float64]


def hand_over(tracks: xr.Dataset, ring: tuple[int, ...] = OUTLINE, grown: float = 1.0) -> npt.NDArray[np.bool_]:
    """Tell for every frame whether a hand, of whomever, has a point inside a ring of face points.

    Hands are looked at less often than the face: a quarter of a second around such a frame counts as covered too.

    Parameters
    ----------
    tracks
        Landmark dataset; needs ``hand_xy``, ``other_hand_xy`` and ``face_xy``.
    ring
        Face points in order around what must be free.
    grown
        How many times larger than the ring, about its middle, the free place must be.

    Returns
    -------
    ndarray of bool
        Shape ``(time,)``.
    """
    faces = tracks["face_xy"].sel(face_point=list(ring)).values.astype(np.float64)
    hands = np.concatenate([tracks[name].values for name in ("hand_xy", "other_hand_xy")], axis=1)
    hands = hands.reshape(len(faces), -1, 2).astype(np.float64)
    covered = np.zeros(len(faces), dtype=bool)
    for frame in np.flatnonzero(found(tracks, "hand") & found(tracks, "face")):
        middle = faces[frame].mean(axis=0)
        covered[frame] = bool(inside(hands[frame], middle + grown * (faces[frame] - middle)).any())
    return spread_in_time(tracks["time"].values, covered, _BETWEEN_LOOKS_S)


def inside(points: Points, ring: Points) -> npt.NDArray[np.bool_]:
    """Tell which points lie inside a ring: those from which a line to the right crosses it an odd number of times.

    Parameters
    ----------
    points, ring
        Shape ``(n, 2)`` and ``(corners, 2)``; a point of NaN lies outside.

    Examples
    --------
    >>> inside(np.array([[1.0, 1.0], [3.0, 1.0]]), np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 2.0], [0.0, 2.0]]))
    array([ True, False])
    """
    x, y = points[:, :1], points[:, 1:]
    (ax, ay), (bx, by) = ring.T, np.roll(ring, -1, axis=0).T
    between = (ay > y) != (by > y)
    steep = np.where(by == ay, 1.0, by - ay)
    crosses = between & (x < ax + (y - ay) * (bx - ax) / steep)
    return np.asarray(crosses.sum(axis=1) % 2 == 1)
