"""Look at a run of frames with the landmark models and return what was seen as tracks."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from review.capture.ahead import read_ahead
from review.capture.detectors import Detectors, native_image, start_refusal
from review.capture.models import find_models
from review.capture.quiet import quiet_native
from review.capture.upright import upright
from review.capture.video import fitted, raw_frames
from review.capture.watch import Job, Watch
from review.domain.tracks import NOT_FOUND, SIGHTS, empty_tracks

LONG_SIDE_PX: Final = 960
"""Longer side of the picture handed to the models that look at whole pictures."""

AS_IT_IS_PX: Final = 1280
"""Films up to this long a side are handed over unscaled, which costs less than scaling them."""

WARM_UP_S: Final = 0.5
"""Length of film before a chunk that is run through the models and thrown away, seconds."""

AHEAD: Final = 2
"""How many frames are decoded ahead; one of 1080p takes 6 MB with what is made of it."""

_PENDING: Final = 3


@dataclass(frozen=True, slots=True)
class Look:
    """One unit of work: a run of frames and what to look for in which of them.

    Attributes
    ----------
    film
        The film.
    first, stop
        The chunk's frames are `first` to ``stop - 1``.
    wanted
        Stream and the indices of the frames to look at, within the chunk.
    mirrored
        Whether the film shows the room mirrored.
    models_folder
        Where the models are, if not in the installed package.
    """

    film: Path
    first: int
    stop: int
    wanted: tuple[tuple[str, tuple[int, ...]], ...]
    mirrored: bool = False
    models_folder: Path | None = None


def look(
    order: Look,
    times: NDArray[np.float64],
    width_px: int,
    height_px: int,
    beat: Callable[[int], None] | None = None,
) -> xr.Dataset:
    """Look at one chunk and return its tracks over frames ``first`` to ``stop - 1``.

    Half a second of film before the chunk is run through the models first, so that a border between chunks does not
    show. A frame that was wanted and cannot be decoded counts as looked at and not found. For a mirrored film the
    coordinates are those of the flipped picture, in which left is left.

    Parameters
    ----------
    order
        What to look at.
    times
        Presentation times of all frames of the film, shape ``(time,)``, seconds.
    width_px, height_px
        Size of the picture as displayed.
    beat
        Called with the number of the chunk's frames that are done.

    Raises
    ------
    FilmRefused
        If the film cannot be opened.
    ModelRefused
        If a model is missing or cannot start.
    """
    tracks = empty_tracks(times[order.first : order.stop], width_px, height_px)
    plan = planned(order, times)
    if not plan:
        return tracks
    tell = beat or (lambda done: None)
    arrays = {str(name): variable.values for name, variable in tracks.data_vars.items()}
    for stream, indices in order.wanted:
        places = [index - order.first for index in indices if order.first <= index < order.stop]
        arrays[f"{stream}_state"][places] = NOT_FOUND
    with ExitStack() as stack:
        stack.enter_context(quiet_native())
        line = stack.enter_context(read_ahead(jobs(order, times, plan), AHEAD))
        detectors = stack.enter_context(Detectors(find_models(order.models_folder)))
        watch = Watch(arrays, (width_px, height_px), detectors, order.first, order.mirrored)
        side = stack.enter_context(ThreadPoolExecutor(1))
        streams = frozenset[str]().union(*plan.values())
        opening = side.submit(detectors.open, *_side_models(streams))
        try:
            detectors.open(*(["pose"] if {"pose", "face"} & streams else []))
            _run(watch, line, side, lambda index: tell(max(0, index - order.first)))
            opening.result()
        except ImportError as fault:
            raise start_refusal(fault) from fault
    tell(order.stop - order.first)
    return tracks


def _side_models(streams: frozenset[str]) -> list[str]:
    """Return the models beside that of the body that are sure to be used, to be opened while it begins."""
    needs = {"face": "face_cut", "hand": "hand"}
    return sorted(needs[stream] for stream in streams if stream in needs)


def planned(order: Look, times: NDArray[np.float64]) -> dict[int, frozenset[str]]:
    """Return which streams each frame is looked at for, the warm-up before the chunk included.

    The warm-up keeps the pace of the frames wanted; it holds one frame at least if that lies within two seconds.
    """
    plan: dict[int, set[str]] = {}
    for stream, indices in order.wanted:
        if stream not in SIGHTS:
            raise ValueError(f"unknown stream {stream!r}, expected one of {', '.join(SIGHTS)}")
        wanted = sorted(index for index in indices if order.first <= index < order.stop)
        for index in [*_before(wanted, times), *wanted]:
            plan.setdefault(index, set()).add(stream)
    return {index: frozenset(plan[index]) for index in sorted(plan)}


def _before(wanted: list[int], times: NDArray[np.float64]) -> list[int]:
    if not wanted:
        return []
    step = max(1, int(np.median(np.diff(wanted)))) if len(wanted) > 1 else 1
    start = times[wanted[0]]
    earlier = list(range(wanted[0] - step, -1, -step))
    kept = [index for index in earlier if start - times[index] <= WARM_UP_S]
    return kept or [index for index in earlier[:1] if start - times[index] <= 4 * WARM_UP_S]


def jobs(order: Look, times: NDArray[np.float64], plan: Mapping[int, frozenset[str]]) -> Iterator[Job]:
    """Decode the frames of a plan (see `planned`), each with its picture at the size that the models are handed."""
    for raw in raw_frames(order.film, times, min(plan), max(plan) + 1):
        if raw.index in plan:
            shown = raw.shape.shown
            width, height = shown if max(shown) <= AS_IT_IS_PX else fitted(shown, LONG_SIDE_PX)
            picture = upright(raw.frame, raw.shape, width, height, order.mirrored)
            image = None if plan[raw.index] == {"picture"} else native_image(picture)
            yield Job(raw, picture, image, plan[raw.index])


def _run(watch: Watch, line: Iterator[Job], side: ThreadPoolExecutor, beat: Callable[[int], None]) -> None:
    """Follow the body on this thread while the face and the rest of the frame before are looked at on `side`."""
    pending: deque[Future[None]] = deque()
    for job in line:
        if "pose" not in job.streams:
            _settle(pending, 0)
        body = watch.body(job)
        pending.append(side.submit(watch.rest, job, body))
        _settle(pending, _PENDING)
        beat(job.raw.index)
    _settle(pending, 0)


def _settle(pending: deque[Future[None]], left: int) -> None:
    while len(pending) > left:
        pending.popleft().result()
