"""Sightings of invented people who walk through a picture: whole bodies of points, with colours of their clothes."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.model import Recording
from review.domain.sightings import COLOURS, empty_sightings
from review.domain.tracks import FOUND, empty_tracks
from review.store.home import Home
from review.store.media import load_times
from review.store.sightings import SightingStore
from review.store.trackstore import TrackStore

SIZE = (1280, 720)

_BODY = {
    0: (0.0, -0.75),
    11: (0.5, 0.0),
    12: (-0.5, 0.0),
    15: (0.7, 1.3),
    16: (-0.7, 1.3),
    23: (0.3, 1.5),
    24: (-0.3, 1.5),
    25: (0.3, 2.4),
    26: (-0.3, 2.4),
    27: (0.3, 3.3),
    28: (-0.3, 3.3),
}


@dataclass(frozen=True)
class Walker:
    """An invented person.

    Attributes
    ----------
    where
        Time -> middle of the shoulders, px; None while out of sight.
    bins
        Bin -> share of the clothes' colours.
    unit
        Shoulder width, px.
    """

    where: Callable[[float], tuple[float, float] | None]
    bins: Mapping[int, float]
    unit: float = 100.0
    face: bool = field(default=True)


def sightings(
    time_s: npt.ArrayLike, people: Mapping[str, Walker], seed: int = 1
) -> tuple[xr.Dataset, list[dict[str, int]]]:
    """Return what is seen of people at some times, in an order that changes, and who is in which place."""
    chance = np.random.default_rng(seed)
    seen = empty_sightings(time_s)
    truth: list[dict[str, int]] = []
    for row, moment in enumerate(seen["time"].values.tolist()):
        shown = [name for name in people if people[name].where(moment) is not None]
        order = chance.permutation(len(shown))
        truth.append({shown[number]: place for place, number in enumerate(order)})
        for name, place in truth[-1].items():
            _write(seen, row, place, people[name], moment, chance)
    return seen, truth


def _write(seen: xr.Dataset, row: int, place: int, person: Walker, moment: float, chance: np.random.Generator) -> None:
    middle = person.where(moment)
    xy = np.zeros((33, 2)) + np.asarray(middle)
    for point, offset in _BODY.items():
        xy[point] = np.asarray(middle) + np.asarray(offset) * person.unit
    seen["asked"][row] = [1, 1, 1]
    seen["body"][row, place] = 1
    seen["pose_xy"][row, place] = xy + chance.normal(0, 1.5, xy.shape)
    seen["pose_visibility"][row, place] = 0.95
    shares = np.zeros(COLOURS)
    for number, share in person.bins.items():
        shares[number] = share
    noisy = np.maximum(0, shares + chance.normal(0, 0.02, COLOURS))
    seen["colour"][row, place] = noisy / noisy.sum()
    if person.face:
        seen["head"][row, place] = 1
        seen["face_width"][row, place] = 0.4 * person.unit


def seen_together(home: Home, recording: Recording) -> None:
    """Keep of a recording that two invented people were seen in its first look, as if it had been analysed."""
    times = load_times(home, recording.sha256)
    people = {
        "partner": Walker(lambda time_s: (700.0, 200.0), {4: 1.0}),
        "examiner": Walker(lambda time_s: (250.0 + 20 * time_s, 220.0), {12: 1.0}),
    }
    name = f"glance:0-{len(times)}"
    SightingStore(home, recording.id).put(name, sightings(times[::6], people)[0])
    tracks = empty_tracks(times, *SIZE)
    tracks["people_state"].values[::6] = FOUND
    tracks["people_count"].values[::6] = 2
    store = TrackStore(home, recording.id)
    store.create(empty_tracks(times, *SIZE))
    store.write(0, tracks, ["people"])
    store.mark_done(name)
