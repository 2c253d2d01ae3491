"""The first, coarse look over a film: about once a second, who is in the picture."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Final

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from review.capture.ahead import read_ahead
from review.capture.crowd import Crowd
from review.capture.detectors import Detectors, native_image
from review.capture.landmarker import AHEAD, Look
from review.capture.models import find_models
from review.capture.quiet import quiet_native
from review.capture.upright import upright
from review.capture.video import RawFrame, fitted, key_frames, raw_frames
from review.capture.watch import Job
from review.domain.sightings import SURE, empty_sightings
from review.domain.tracks import FOUND, empty_tracks

EVERY_S: Final = 1.0
"""Aimed distance of two looks, seconds."""

_SOON: Final = 0.75
_LATE: Final = 1.8
_ONE_WALK_S: Final = 4.0
_LONG_SIDE_PX: Final = 960


def glance(
    order: Look,
    times: NDArray[np.float64],
    width_px: int,
    height_px: int,
    beat: Callable[[int], None] | None = None,
) -> tuple[xr.Dataset, xr.Dataset]:
    """Look at about a frame a second of a stretch for everybody in it.

    Frames that stand for themselves are taken where they come often enough, since those between need not be decoded
    then; where they do not, the frames between are decoded as well. Parameters and errors are those of
    `review.capture.landmarker.look`, but which frames of the order are wanted is chosen here.

    Returns
    -------
    tracks
        Over the stretch, with the stream ``people`` only.
    sightings
        Over the frames that were looked at.
    """
    tell = beat or (lambda done: None)
    film, first, stop, mirrored, size = order.film, order.first, order.stop, order.mirrored, (width_px, height_px)
    seen: dict[int, xr.Dataset] = {}
    with ExitStack() as stack:
        stack.enter_context(quiet_native())
        detectors = stack.enter_context(Detectors(find_models(order.models_folder)))
        for walk in (_often(film, times, first, stop), _between(film, times, first, stop, seen)):
            line = stack.enter_context(read_ahead(_jobs(walk, mirrored), AHEAD))
            for job in line:
                seen[job.raw.index] = _seen(job, detectors, size, mirrored)
                tell(job.raw.index - first)
    tracks = empty_tracks(times[first:stop], *size, streams=("people",))
    rows = np.array(sorted(seen), dtype=int)
    parts = [seen[index] for index in rows.tolist()]
    sightings = xr.concat(parts, "time", data_vars="minimal") if parts else empty_sightings([])
    tracks["people_state"].values[rows - first] = FOUND
    tracks["people_count"].values[rows - first] = (sightings["body"].values == SURE).sum(axis=1)
    return tracks, sightings


def _seen(job: Job, detectors: Detectors, size: tuple[int, int], mirrored: bool) -> xr.Dataset:
    one = empty_sightings([job.raw.time_s])
    arrays = {str(name): variable.values for name, variable in one.data_vars.items()}
    bodies = detectors.poses(job.image, job.raw.time_s, size)
    Crowd(arrays, {job.raw.index: 0}, size).see(job, bodies, detectors, mirrored)
    return one


def _jobs(walk: Iterator[RawFrame], mirrored: bool) -> Iterator[Job]:
    for raw in walk:
        picture = upright(raw.frame, raw.shape, *fitted(raw.shape.shown, _LONG_SIDE_PX), mirrored)
        yield Job(raw, picture, native_image(picture), frozenset({"pose"}))


def _often(film: Path, times: NDArray[np.float64], first: int, stop: int) -> Iterator[RawFrame]:
    """Give key frames, no two of them closer than asked."""
    last_s = -np.inf
    for raw in key_frames(film, times, first, stop):
        if raw.time_s - last_s >= _SOON * EVERY_S:
            last_s = raw.time_s
            yield raw


def _between(
    film: Path, times: NDArray[np.float64], first: int, stop: int, seen: dict[int, xr.Dataset]
) -> Iterator[RawFrame]:
    """Give the frames that are still wanted between those `seen` by then."""
    wanted = np.array(missing(times, first, stop, sorted(seen)), dtype=int)
    breaks = np.flatnonzero(np.diff(times[wanted]) > _ONE_WALK_S) + 1
    for walk in np.split(wanted, breaks) if len(wanted) else ():
        for raw in raw_frames(film, times, int(walk[0]), int(walk[-1]) + 1):
            if raw.index in walk:
                yield raw


def missing(times: NDArray[np.float64], first: int, stop: int, seen: list[int]) -> list[int]:
    """Return frames to look at so that no two looks in the stretch lie much further apart than `EVERY_S`.

    Examples
    --------
    >>> missing(np.arange(9) / 2, 0, 9, [0, 2])
    [4, 6, 8]
    """
    if first >= stop:
        return []
    edges = [*(times[index] for index in seen), float(times[stop - 1]) + EVERY_S]
    last_s, wanted = float(times[first]) - EVERY_S, set()
    for edge in edges:
        if edge - last_s > _LATE * EVERY_S:
            ticks = np.arange(last_s + EVERY_S, edge - 0.5 * EVERY_S, EVERY_S)
            places = first + np.searchsorted(times[first:stop], ticks - 1e-6)
            wanted |= {int(place) for place in places if place < stop}
        last_s = float(edge)
    return sorted(wanted - set(seen))
