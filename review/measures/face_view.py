"""Whether the face can be judged: found, large enough, turned to the camera."""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.model import Reason
from review.domain.tracks import why_absent

MIN_BRIGHTNESS: Final = 0.12
"""In a darker picture lids, irises and head angles are lost in the noise (a dark film read a turn 6 deg off)."""

Reasons = npt.NDArray[np.int8]


def face_reasons(tracks: xr.Dataset, min_width_px: float, max_yaw_deg: float) -> Reasons:
    """Say for every frame why the face cannot be judged.

    Asked in this order: looked at, found, large enough, light enough (`MIN_BRIGHTNESS`), turned to the camera. The
    picture may be measured less often than the face is looked at: between two measured frames its brightness is
    taken to change evenly. Never measured, it is not asked for.

    Parameters
    ----------
    tracks
        Landmark dataset.
    min_width_px
        Least width of the face outline in the picture.
    max_yaw_deg
        Largest turn of the head to either side of the camera.

    Returns
    -------
    ndarray of int8
        `Reason` values, shape ``(time,)``; `Reason.NONE` where the face can be judged.
    """
    reason = np.full(tracks.sizes["time"], Reason.NONE, np.int8)
    yaw = np.abs(tracks["head_angle"].sel(angle="yaw").values)
    reason[yaw > max_yaw_deg] = Reason.HEAD_TURNED
    reason[_brightness(tracks) < MIN_BRIGHTNESS] = Reason.TOO_DARK
    reason[tracks["face_width"].values < min_width_px] = Reason.FACE_SMALL
    absent = why_absent(tracks, "face", Reason.FACE_NOT_FOUND)
    return np.where(absent != Reason.NONE, absent, reason).astype(np.int8)


def _brightness(tracks: xr.Dataset) -> npt.NDArray[np.float64]:
    times, brightness = tracks["time"].values, tracks["brightness"].values.astype(np.float64)
    known = np.isfinite(brightness)
    if not known.any():
        return np.full(len(times), np.nan)
    return np.asarray(np.interp(times, times[known], brightness[known]))


def looked_at(trace: xr.DataArray) -> xr.DataArray:
    """Return the frames of a trace that were looked at at all: a film may be looked at less often than it runs."""
    return trace.isel(time=np.flatnonzero(trace["reason"].values != Reason.NOT_LOOKED))


def shares(times: npt.NDArray[np.float64], longest_s: float) -> npt.NDArray[np.float64]:
    """Return the seconds that each sample of an irregular clock stands for.

    Half the way to either neighbour, no more than `longest_s` on each side; shape ``(time,)``.
    """
    half = np.minimum(np.diff(times) / 2, longest_s)
    return np.concatenate(([0.0], half)) + np.concatenate((half, [0.0]))
