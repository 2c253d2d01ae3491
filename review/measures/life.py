"""Whether what is seen as a person lives: a picture on the wall or a dummy is as still as the film's own noise."""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.tracks import found
from review.measures.stance_width import LEAST_VISIBILITY, in_view

Series = npt.NDArray[np.float64]
Places = npt.NDArray[np.complex128]
"""Places in the picture as complex numbers, shape ``(time, point)``, px."""

LEAST_SEEN_S: Final = 10.0
"""Seen for less, a living person may keep still: people at rest blink 17 times a minute (Bentivoglio 1997)."""

FACE_MOVES: Final = 0.006
"""Slow movement of a point within the face, in distances of the outer eye corners, from which a face lives.

A poster and a dummy's head, rendered with a phone's noise, read 0.003 to 0.004.
"""

FACE_MOVES_PX: Final = 0.4
"""The same in px, where that is more: no model tells smaller movements of a small face from its noise."""

BODY_MOVES: Final = 0.008
"""Slow movement of a joint against the feet (else the hips), in lengths of the trunk, from which a body lives.

About 4 mm. Rendered dummies read 0.002 without noise and 0.006 with a phone's.
"""

BLINKS: Final = 0.25
"""Rise of the blink weight above its median from which a face lives."""

_MOST_FRAMES = 900
_LEAST_FRAMES = 15
_WINDOW_S = 1.0
_OUTER_CORNERS = (33, 263)
_PARTS = ("shoulder", "hip", "elbow", "wrist", "knee", "ankle")
_JOINTS = ("nose", *(f"{side}_{part}" for part in _PARTS for side in ("left", "right")))
_FEET, _HIPS = ("left_ankle", "right_ankle"), ("left_hip", "right_hip")


def lifeless(tracks: xr.Dataset) -> bool:
    """Tell whether what was found in a whole film never moved by itself.

    A **face** lives when a lid closes for a moment, or when a point of it moves within the face: place, size and tilt
    of each frame's points are taken out, the places averaged over a second, and the greatest standard deviation of any
    point compared with `FACE_MOVES` and `FACE_MOVES_PX`. A **body** of which shoulders and hips are in view lives when
    a joint moves against the feet, likewise, by `BODY_MOVES`. Of either, what the film's noise makes of such an average
    is taken off in quadrature. Nothing that was found may live, and it must have been seen for `LEAST_SEEN_S`. So a
    person who keeps as still as a statue for a whole film is taken for one. A film that is shown on a screen is not
    told from a living person, nor is a dummy that is carried, or filmed with a camera that is tilted to and fro.

    Parameters
    ----------
    tracks
        Landmark dataset of a whole film; face and pose at any rate.

    References
    ----------
    Common practice, no source.
    """
    seen = [still for still in (_face_still(tracks), _body_still(tracks)) if still is not None]
    return bool(seen) and all(seen)


def _frames(tracks: xr.Dataset, stream: str) -> npt.NDArray[np.intp] | None:
    """Return up to 900 even frames in which a stream was found, None where it was not seen for long enough."""
    rows = np.flatnonzero(found(tracks, stream))
    times = tracks["time"].values
    if len(rows) < _LEAST_FRAMES or times[rows[-1]] - times[rows[0]] < LEAST_SEEN_S:
        return None
    return rows[:: -(-len(rows) // _MOST_FRAMES)]


def _face_still(tracks: xr.Dataset) -> bool | None:
    rows = _frames(tracks, "face")
    if rows is None:
        return None
    blinks = tracks["blendshape"].sel(shape=["eyeBlinkLeft", "eyeBlinkRight"]).values[found(tracks, "face")]
    if (np.nanmax(blinks, axis=0) - np.nanmedian(blinks, axis=0)).max() > BLINKS:
        return False
    moved, unit_px = face_movement(tracks, rows)
    return moved < max(FACE_MOVES, FACE_MOVES_PX / unit_px)


def face_movement(tracks: xr.Dataset, rows: npt.NDArray[np.intp]) -> tuple[float, float]:
    """Return the greatest slow movement of a point within the face in distances of the outer eye corners, and these."""
    xy = np.asarray(tracks["face_xy"].values[rows], np.float64)
    whole = np.isfinite(xy).all(axis=(0, 2))
    points = tracks["face_point"].values[whole].tolist()
    places = xy[:, whole, 0] + 1j * xy[:, whole, 1]
    centred = places - places.mean(axis=1, keepdims=True)
    aligned = _onto(centred, _onto(centred, centred[0]).mean(axis=0))
    corners = [aligned[:, points.index(corner)].mean() for corner in _OUTER_CORNERS]
    unit_px = float(np.abs(corners[0] - corners[1]))
    return _slow(tracks["time"].values[rows], aligned / unit_px), unit_px


def _onto(places: Places, goal: Places) -> Places:
    """Turn and scale each frame's points, which are centred, so that they lie nearest to `goal`."""
    turn = (np.conj(places) @ goal) / (np.abs(places) ** 2).sum(axis=1)
    return np.asarray(places * turn[:, None])


def _body_still(tracks: xr.Dataset) -> bool | None:
    rows = _frames(tracks, "pose")
    if rows is None or np.median(in_view(tracks.isel(time=rows), "shoulder", "hip")) < 1:
        return None
    return body_movement(tracks, rows) < BODY_MOVES


def body_movement(tracks: xr.Dataset, rows: npt.NDArray[np.intp]) -> float:
    """Return the greatest slow movement of a joint against the feet, or the hips, in lengths of the trunk."""
    pose = tracks[["pose_xy", "pose_visibility"]].isel(time=rows)

    def shown(names: tuple[str, ...]) -> npt.NDArray[np.bool_]:
        return np.asarray(pose["pose_visibility"].sel(pose_point=list(names)).median("time").values >= LEAST_VISIBILITY)

    def places(names: tuple[str, ...]) -> Places:
        xy = np.asarray(pose["pose_xy"].sel(pose_point=list(names)).values, np.float64)
        return np.asarray(xy[..., 0] + 1j * xy[..., 1])

    joints, ground = places(_JOINTS), _FEET if shown(_FEET).all() else _HIPS
    unit = float(np.median(np.abs(joints[:, 1:3].mean(axis=1) - joints[:, 3:5].mean(axis=1))))
    moved = joints - places(ground).mean(axis=1, keepdims=True)
    used = shown(_JOINTS)
    return _slow(tracks["time"].values[rows], moved[:, used] / max(unit, 1.0)) if used.any() else 0.0


def _slow(times: Series, places: Places) -> float:
    """Return the greatest standard deviation of a point's mean over a second, what noise makes of it taken off."""
    window = np.floor((times - times[0]) / _WINDOW_S).astype(int)
    numbers, counts = np.unique(window, return_counts=True)
    means = np.array([places[window == number].mean(axis=0) for number in numbers])
    spread = (np.abs(means - means.mean(axis=0)) ** 2).mean(axis=0)
    steps = np.abs(np.diff(places, axis=0)) ** 2
    noise = np.median(steps, axis=0) / (2 * np.log(2)) / float(np.median(counts))
    return float(np.sqrt(np.maximum(spread - noise, 0.0).max(initial=0.0)))
