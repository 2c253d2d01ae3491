"""What must be looked at, and at which rate: worked out from what the measures need."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from review.domain.measure import Measure, Need

BASE_NEEDS: Final = (Need("picture", 5.0), Need("hand", 5.0))
"""Looked at in every film, whatever the measures ask: the capture check, and hands for the overlay."""

CHUNK_S: Final = 10.0
"""Aimed length of a chunk in seconds."""

_SPARE: Final = 1.25
"""A film up to this many times faster than asked is looked at whole rather than thinned unevenly."""


@dataclass(frozen=True, slots=True)
class Chunk:
    """A run of frames ``first <= index < stop`` with the frames wanted of each stream: the unit of work."""

    key: str
    first: int
    stop: int
    wanted: tuple[tuple[str, tuple[int, ...]], ...]

    @property
    def frames(self) -> int:
        """Number of frames that are looked at in the run: none where only the sound is heard."""
        return 0 if self.key == "sound" else self.stop - self.first


def rates(measures: Iterable[Measure]) -> dict[str, float]:
    """Return the frames a second that each stream must be looked at, the highest that anybody needs.

    The sound is left out: it is heard once and whole, see `sound_chunk`.
    """
    asked: dict[str, float] = {}
    for need in (*BASE_NEEDS, *(need for measure in measures for need in measure.needs)):
        if need.stream != "sound":
            asked[need.stream] = max(need.rate_hz, asked.get(need.stream, 0.0))
    return asked


def thin(time_s: npt.NDArray[np.float64], rate_hz: float) -> npt.NDArray[np.intp]:
    """Choose frames of an irregular clock so that about `rate_hz` a second are looked at.

    Parameters
    ----------
    time_s
        Presentation times, shape ``(time,)``, seconds, rising.
    rate_hz
        Rate asked for.

    Returns
    -------
    ndarray of int
        Indices into `time_s`. All frames when the film is no faster than asked; else, for every tick of the
        asked rate, the first frame at or after it.

    Examples
    --------
    >>> thin(np.arange(60) / 60.0, 15.0)[:4]
    array([ 0,  4,  8, 12])
    """
    if len(time_s) < 2:
        return np.arange(len(time_s))
    span = time_s[-1] - time_s[0]
    if (len(time_s) - 1) / span <= rate_hz * _SPARE:
        return np.arange(len(time_s))
    ticks = time_s[0] + np.arange(int(span * rate_hz) + 1) / rate_hz
    chosen = np.searchsorted(time_s, ticks - 1e-6)
    return np.unique(chosen[chosen < len(time_s)])


def plan(time_s: npt.NDArray[np.float64], asked: Mapping[str, float]) -> tuple[Chunk, ...]:
    """Cut a recording into chunks.

    Parameters
    ----------
    time_s
        Presentation times of all frames, seconds.
    asked
        Stream -> frames a second (see `rates`).
    """
    starts = _starts(time_s)
    label = "+".join(f"{stream}@{asked[stream]:g}" for stream in sorted(asked))
    chosen = {stream: thin(time_s, rate) for stream, rate in asked.items()}
    chunks = []
    for first, stop in zip(starts, [*starts[1:], len(time_s)], strict=True):
        wanted = tuple(
            (stream, tuple(int(i) for i in index[(index >= first) & (index < stop)]))
            for stream, index in sorted(chosen.items())
        )
        chunks.append(Chunk(f"{first}-{stop}:{label}", first, stop, wanted))
    return tuple(chunks)


def sound_chunk(frames: int) -> Chunk:
    """Return the unit of work in which the sound of a film of so many frames is heard."""
    return Chunk("sound", 0, frames, (("sound", ()),))


def _starts(time_s: npt.NDArray[np.float64]) -> list[int]:
    """First frames of chunks of about `CHUNK_S` seconds; the last chunk is never shorter than half of it."""
    if len(time_s) == 0:
        return []
    count = max(1, round(float(time_s[-1] - time_s[0]) / CHUNK_S))
    edges = np.linspace(time_s[0], time_s[-1], count, endpoint=False)
    return [int(i) for i in np.unique(np.searchsorted(time_s, edges - 1e-9))]
