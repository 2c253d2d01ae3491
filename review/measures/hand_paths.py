"""Paths of hands through the picture: which hand of one frame is which of the next, and where its fingertip is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.construction import Part

Series = npt.NDArray[np.float64]

HANDS: Final = ("hand_xy", "other_hand_xy")

_WRIST, _THUMB_TIP, _INDEX_BASE, _INDEX_TIP, _MIDDLE_BASE, _LITTLE_BASE = 0, 4, 5, 8, 9, 17
_PINCHED: Final = 0.45
_LENGTHS_A_SECOND: Final = 25.0
_SLACK_LENGTHS: Final = 0.5
_LOST_S: Final = 0.5


@dataclass(frozen=True, slots=True)
class Path:
    """One hand's way: the frames in which it was seen, shape ``(n,)``, and where, shape ``(n, 2)``, px."""

    frames: npt.NDArray[np.intp]
    xy: Series


def fingertips(tracks: xr.Dataset, variables: Sequence[str]) -> Series:
    """Return where the hands point or touch: the tip of the index finger, or its middle with the thumb's in a pinch.

    Thumb and index pinch when their tips are closer than 0.45 of the palm's width.

    Parameters
    ----------
    tracks
        Landmark dataset.
    variables
        Which hands, of `HANDS`.

    Returns
    -------
    ndarray
        Shape ``(time, hand, 2)``, px; NaN where there is no hand.
    """
    xy = _hands(tracks, variables)
    index, thumb = xy[:, :, _INDEX_TIP], xy[:, :, _THUMB_TIP]
    palm = np.linalg.norm(xy[:, :, _INDEX_BASE] - xy[:, :, _LITTLE_BASE], axis=-1)
    pinched = np.linalg.norm(index - thumb, axis=-1) < _PINCHED * palm
    return np.where(pinched[..., None], (index + thumb) / 2, index)


def hand_middles(tracks: xr.Dataset, variables: Sequence[str]) -> Series:
    """Return the mean of the points of each hand, shape ``(time, hand, 2)``, px."""
    return np.asarray(_hands(tracks, variables).mean(axis=2))


def hand_sizes(tracks: xr.Dataset, variables: Sequence[str]) -> Series:
    """Return how large each hand looks: root mean square distance of its points from their middle, px.

    Shape ``(time, hand)``; NaN where there is no hand.
    """
    xy = _hands(tracks, variables)
    away = np.linalg.norm(xy - xy.mean(axis=2, keepdims=True), axis=-1)
    return np.asarray(np.sqrt((away**2).mean(axis=2)))


def hand_length(tracks: xr.Dataset, variables: Sequence[str]) -> float:
    """Return the median distance from the wrist to the base of the middle finger, doubled, px; NaN without a hand."""
    xy = _hands(tracks, variables)
    lengths = 2 * np.linalg.norm(xy[:, :, _WRIST] - xy[:, :, _MIDDLE_BASE], axis=-1)
    return float(np.nanmedian(lengths)) if np.isfinite(lengths).any() else np.nan


def _hands(tracks: xr.Dataset, variables: Sequence[str]) -> Series:
    parts = [tracks[name].values.astype(np.float64) for name in variables]
    return np.concatenate(parts, axis=1)


def linked(times: Series, places: Series, length_px: float) -> tuple[Path, ...]:
    """Join the places of all frames into paths, the nearest pairs first.

    A hand that was seen within 0.5 s goes on with a place no further than 25 hand lengths a second and half a hand
    length away; any other place begins a path.

    Parameters
    ----------
    times
        Clock, shape ``(time,)``, seconds.
    places
        Shape ``(time, hand, 2)``, px; NaN where there is none.
    length_px
        Length of a hand.
    """
    ways: list[tuple[list[int], list[Series]]] = []
    live: list[int] = []
    seen = np.asarray(np.isfinite(places).all(axis=2))
    for frame in map(int, np.flatnonzero(seen.sum(axis=1))):
        here = [places[frame, slot] for slot in np.flatnonzero(seen[frame])]
        live = [way for way in live if times[frame] - times[ways[way][0][-1]] <= _LOST_S]
        taken = _matched(here, [ways[way] for way in live], times, frame, length_px)
        for number, place in enumerate(here):
            if number in taken:
                way = live[taken[number]]
            else:
                way = len(ways)
                ways.append(([], []))
                live.append(way)
            ways[way][0].append(frame)
            ways[way][1].append(place)
    return tuple(Path(np.array(frames), np.array(xy)) for frames, xy in ways)


def _matched(
    here: Sequence[Series], ways: Sequence[tuple[list[int], list[Series]]], times: Series, frame: int, length_px: float
) -> dict[int, int]:
    """Return for places the number of the way that goes on with it."""
    pairs = []
    for number, place in enumerate(here):
        for way, (frames, xy) in enumerate(ways):
            reach = length_px * (_SLACK_LENGTHS + _LENGTHS_A_SECOND * (times[frame] - times[frames[-1]]))
            distance = float(np.linalg.norm(place - xy[-1]))
            if distance <= reach:
                pairs.append((distance, number, way))
    taken: dict[int, int] = {}
    for _, number, way in sorted(pairs):
        if number not in taken and way not in taken.values():
            taken[number] = way
    return taken


def tips_drawn(tracks: xr.Dataset, variables: Sequence[str] = HANDS) -> tuple[Part, ...]:
    """Draw the way of each hand's fingertip (see `fingertips`)."""
    tips = fingertips(tracks, variables)
    return tuple(
        Part(kind="trail", words="way of the fingertip", stream="hand", places=tips[:, hand : hand + 1])
        for hand in range(tips.shape[1])
    )
