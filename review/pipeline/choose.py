"""From everybody who was seen to the tracks of the one who is examined."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.capture.hands import hands_of
from review.capture.head import Hand
from review.domain.sightings import ASKED, SURE
from review.domain.tracks import FOUND, NOT_FOUND, UNSURE, empty_tracks
from review.pipeline.who import Examined

_WITNESS_S: Final = 0.5
"""What may be a body counts as one this long after, or before, it was seen for sure, seconds."""

_OF_FACE = ("face_xy", "face_width", "blendshape", "head_angle")
_OF_BODY = ("pose_xy", "pose_visibility", "pose_world")


def chosen(sightings: xr.Dataset, who: Examined, times: npt.NDArray[np.float64], size: tuple[int, int]) -> xr.Dataset:
    """Return the tracks of the examined person over some frames.

    Where only somebody else was seen, it counts as unsure who is who: the examined person may be hidden.

    Parameters
    ----------
    sightings
        Of those frames, or some of them.
    who
        Which body is the examined person in each frame of `sightings`.
    times
        Presentation times of the frames, shape ``(time,)``, seconds.
    size
        Width and height as displayed, px.
    """
    tracks = empty_tracks(times, *size)
    arrays = {str(name): variable.values for name, variable in tracks.data_vars.items()}
    seen = {str(name): variable.values for name, variable in sightings.data_vars.items()}
    rows = np.searchsorted(times, sightings["time"].values)
    believed = _believed(sightings["time"].values, seen["body"], who)
    for number, row in enumerate(rows.tolist()):
        place = int(who.place[number]) if who.sure[number] and believed[number] else -1
        asked = dict(zip(ASKED, seen["asked"][number], strict=True))
        sure = place >= 0 or not (seen["body"][number] > 0).any()
        if asked["pose"]:
            _take(arrays, seen, "pose", _OF_BODY, row, number, place, sure)
        if asked["face"]:
            with_face = place if place >= 0 and seen["head"][number, place] else -1
            _take(arrays, seen, "face", _OF_FACE, row, number, with_face, sure)
        if asked["hand"]:
            _take_hands(arrays, seen, row, number, place, sure)
    return tracks


def _believed(time_s: npt.NDArray[np.float64], body: npt.NDArray[Any], who: Examined) -> npt.NDArray[np.bool_]:
    """Tell where the examined body is one for sure, or was or will be within `_WITNESS_S`."""
    there = (who.place >= 0) & who.sure
    certain = time_s[there & (body[np.arange(len(body)), who.place] == SURE)]
    if not len(certain):
        return np.zeros(len(body), dtype=np.bool_)
    after = np.searchsorted(certain, time_s).clip(0, len(certain) - 1)
    before = (np.searchsorted(certain, time_s, side="right") - 1).clip(0)
    nearest = np.minimum(np.abs(certain[after] - time_s), np.abs(certain[before] - time_s))
    return np.asarray(there & (nearest <= _WITNESS_S))


def _take(
    arrays: Mapping[str, npt.NDArray[Any]],
    seen: Mapping[str, npt.NDArray[Any]],
    stream: str,
    names: tuple[str, ...],
    row: int,
    number: int,
    place: int,
    sure: bool,
) -> None:
    arrays[f"{stream}_state"][row] = FOUND if place >= 0 else NOT_FOUND if sure else UNSURE
    if place >= 0:
        for name in names:
            arrays[name][row] = seen[name][number, place]


def _take_hands(
    arrays: Mapping[str, npt.NDArray[Any]],
    seen: Mapping[str, npt.NDArray[Any]],
    row: int,
    number: int,
    place: int,
    sure: bool,
) -> None:
    shown = np.flatnonzero(seen["hand"][number])
    hands = [Hand(bool(seen["hand"][number, one] == 1), seen["hand_xy"][number, one]) for one in shown]
    arrays["hand_state"][row] = NOT_FOUND if not hands else FOUND if sure else UNSURE
    if hands and sure:
        there = np.flatnonzero(seen["body"][number] > 0)
        bodies = [(seen["pose_xy"][number, one], seen["pose_visibility"][number, one]) for one in there]
        mine = there.tolist().index(place) if place in there else None
        arrays["hand_xy"][row], arrays["other_hand_xy"][row] = hands_of(hands, bodies, mine)
