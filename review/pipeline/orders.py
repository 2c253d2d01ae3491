"""A unit of work that looks, or hears the whole sound, as it is handed to a worker, and what comes back."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.capture.crowd import look_at_all
from review.capture.glance import glance
from review.capture.landmarker import Look, look
from review.domain.model import Recording
from review.pipeline.chunk import SOUND, Chunk
from review.pipeline.memory import give_back
from review.speech.recogniser import let_go


@dataclass(frozen=True, slots=True)
class Order:
    """A chunk, and all that a worker must know to do it; it can be sent to another process.

    Attributes
    ----------
    chunk
        What to look at.
    film
        The original.
    times
        Presentation times of all its frames, shape ``(time,)``, seconds.
    size
        Width and height as displayed.
    mirrored
        Whether the film shows the room mirrored.
    models_folder
        Where the models are, if not in the installed package.
    """

    chunk: Chunk
    film: Path
    times: npt.NDArray[np.float64]
    size: tuple[int, int]
    mirrored: bool
    models_folder: Path | None

    @classmethod
    def of(
        cls,
        film: Path,
        recording: Recording,
        chunk: Chunk,
        times: npt.NDArray[np.float64],
        models_folder: Path | None = None,
    ) -> Order:
        """Make the order for a chunk of a recording."""
        size = (recording.width_px, recording.height_px)
        return cls(chunk, film, times, size, recording.mirrored, models_folder)


@dataclass(frozen=True, slots=True)
class Seen:
    """What came of an order: tracks over the chunk, their streams, and sightings where everybody was looked at."""

    tracks: xr.Dataset
    streams: tuple[str, ...]
    sightings: xr.Dataset | None = None


def work(order: Order) -> Seen:
    """Do one unit of work."""
    try:
        return _seen(order)
    finally:
        give_back()


def _seen(order: Order) -> Seen:
    chunk, size = order.chunk, order.size
    if chunk.key == SOUND:
        from review.capture.loudness import sound_tracks  # brings 60 MB of signal processing along

        return Seen(sound_tracks(order.film, order.times, *size), (SOUND,))
    let_go()
    request = Look(order.film, chunk.first, chunk.stop, chunk.wanted, order.mirrored, order.models_folder)
    if chunk.stage == 0:
        tracks, sightings = glance(request, order.times, *size)
        return Seen(tracks, ("people",), sightings)
    if chunk.everybody:
        tracks, sightings = look_at_all(request, order.times, *size)
        return Seen(tracks, ("picture", "people"), sightings)
    return Seen(look(request, order.times, *size), tuple(stream for stream, _ in chunk.wanted))
