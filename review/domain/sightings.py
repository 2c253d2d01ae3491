"""The sightings dataset: everybody who was seen, before it is known who is examined.

One `xarray.Dataset` over the frames that were looked at, and only those:

==================  ================================  =====  ========================================================
variable            dimensions                        units  meaning
==================  ================================  =====  ========================================================
asked               time, stream                      1      1 where the frame was looked at for the stream
body                time, person                      1      1 where a body was seen in this place of the list, 2 where
                                                             it may be one (shoulders and hips seen, no leg, no face)
head                time, person                      1      1 where a face was seen on it, else 0
pose_xy             time, person, pose_point, space   px     as in `review.domain.tracks`
pose_visibility     time, person, pose_point          1      as there
pose_world          time, person, pose_point, space3  m      as there
face_xy             time, person, face_point, space   px     as there
face_width          time, person                      px     as there
blendshape          time, person, shape               1      as there
head_angle          time, person, angle               deg    as there
colour              time, person, bin                 1      shares of the clothes' colours (see `COLOURS`), sum 1
hand                time, any_hand                    1      1 where a hand was seen in this place of the list: the
                                                             model takes it for a left one; 2: for a right one
hand_xy             time, any_hand, hand_point,       px     its points
                    space
==================  ================================  =====  ========================================================

The order of people and hands in the lists means nothing and changes from frame to frame. NaN stands where nothing was
seen. ``time`` is the recording's own: float64 seconds, strictly rising. Left and right are each person's own.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.errors import TracksBroken
from review.domain.tracks import BLENDSHAPES, FACE_POINTS, HAND_POINTS, POSE_POINTS

MOST_PEOPLE: Final = 4
"""How many people are told apart in one picture."""

MOST_HANDS: Final = 4
"""How many hands are followed in one picture."""

SURE: Final = 1
MAYBE: Final = 2

COLOURS: Final = 32
"""Bins of the clothes' colours: hue in 8 by saturation in 3, for pixels with a colour, then 8 of lightness."""

ASKED: Final = ("pose", "face", "hand")
"""The streams that sightings hold."""

_COORDS: Final[dict[str, list[object]]] = {
    "stream": list(ASKED),
    "person": list(range(MOST_PEOPLE)),
    "pose_point": list(POSE_POINTS),
    "face_point": list(FACE_POINTS),
    "shape": list(BLENDSHAPES),
    "space": ["x", "y"],
    "space3": ["x", "y", "z"],
    "angle": ["yaw", "pitch", "roll"],
    "bin": list(range(COLOURS)),
    "any_hand": list(range(MOST_HANDS)),
    "hand_point": list(range(HAND_POINTS)),
}

SIGHTED: Final[dict[str, tuple[tuple[str, ...], str]]] = {
    "asked": (("time", "stream"), "1"),
    "body": (("time", "person"), "1"),
    "head": (("time", "person"), "1"),
    "pose_xy": (("time", "person", "pose_point", "space"), "px"),
    "pose_visibility": (("time", "person", "pose_point"), "1"),
    "pose_world": (("time", "person", "pose_point", "space3"), "m"),
    "face_xy": (("time", "person", "face_point", "space"), "px"),
    "face_width": (("time", "person"), "px"),
    "blendshape": (("time", "person", "shape"), "1"),
    "head_angle": (("time", "person", "angle"), "deg"),
    "colour": (("time", "person", "bin"), "1"),
    "hand": (("time", "any_hand"), "1"),
    "hand_xy": (("time", "any_hand", "hand_point", "space"), "px"),
}
"""Name of each variable -> its dimensions, its unit."""

FLAGS: Final = ("asked", "body", "head", "hand")
"""The variables that are int8 rather than float32."""


def empty_sightings(time_s: npt.ArrayLike) -> xr.Dataset:
    """Make the sightings of frames in which nobody was seen; `time_s` has shape ``(time,)``, seconds, rising."""
    times = np.asarray(time_s, dtype=np.float64)
    sizes = {"time": len(times)} | {dim: len(values) for dim, values in _COORDS.items()}
    data: dict[str, tuple[tuple[str, ...], npt.NDArray[np.generic], dict[str, str]]] = {}
    for name, (dims, units) in SIGHTED.items():
        shape = tuple(sizes[dim] for dim in dims)
        values = np.zeros(shape, np.int8) if name in FLAGS else np.full(shape, np.nan, np.float32)
        data[name] = (dims, values, {"units": units})
    return xr.Dataset(data, coords={"time": ("time", times, {"units": "s"}), **_COORDS})


def check_sightings(sightings: xr.Dataset) -> xr.Dataset:
    """Return `sightings` unchanged if it keeps the contract of this module.

    Raises
    ------
    TracksBroken
        If it does not; the message lists every fault.
    """
    faults = []
    for name, (dims, units) in SIGHTED.items():
        if name not in sightings:
            faults.append(f"{name} is missing")
        elif sightings[name].dims != dims or sightings[name].attrs.get("units") != units:
            faults.append(
                f"{name} has dimensions {sightings[name].dims} and is in {sightings[name].attrs.get('units')}"
            )
    if "time" not in sightings.coords or not np.all(np.diff(sightings["time"].values) > 0):
        faults.append("time is missing or does not rise strictly")
    if faults:
        raise TracksBroken("These sightings do not keep the contract: " + "; ".join(faults) + ". Analyse again.")
    return sightings
