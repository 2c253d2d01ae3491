"""What must be looked at, and at which rate: worked out from what the measures need."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256
from itertools import pairwise
from types import MappingProxyType
from typing import Final

import numpy as np
import numpy.typing as npt

from review.domain.measure import Filmed, Measure, Need
from review.domain.tracks import SIGHTS
from review.pipeline.chunk import SOUND, Chunk

Times = npt.NDArray[np.float64]

BASE_NEEDS: Final = (Need("picture", 5.0), Need("hand", 5.0))
"""Looked at in every film without marks, whatever the measures ask: the capture check, and hands for the overlay."""

CHUNK_S: Final = 10.0
"""Aimed length of a chunk in seconds."""

_NOTHING: Final = np.array([], dtype=np.intp)
_SPARE: Final = 1.25
"""A film up to this many times faster than asked is looked at whole rather than thinned unevenly."""


STAGES: Final = (
    "First look at who is in the picture",
    "Listening to what is said",
    "Looking at the marked steps",
    "Looking at the whole film",
)
"""What is done, in words for people."""

GLANCE_S: Final = 60.0
"""Aimed length of a stretch of the first look, seconds."""

SURVEY: Final = MappingProxyType({"pose": 2.0, "face": 2.0, "hand": 1.0, "picture": 2.0})
"""Frames a second that are looked at outside the marked steps, once there are any: what the capture check asks."""


@dataclass(frozen=True, slots=True)
class Span:
    """Seconds of the film that somebody marked, and the frames a second that its step's measures need."""

    onset_s: float
    offset_s: float
    rates: Mapping[str, float]

    def paced(self, slow_motion: float) -> Span:
        """Return the span in the seconds of life of a film that plays so many times slower."""
        return Span(self.onset_s / slow_motion, self.offset_s / slow_motion, self.rates)


def rates(measures: Iterable[Measure], filmed: Filmed, base: Iterable[Need] = ()) -> dict[str, float]:
    """Return the frames a second that each stream must be looked at, the highest that anybody needs.

    The sound is left out, as it is heard once and whole (see `sound_chunk`), and so are the people, who are counted in
    the first look.

    Parameters
    ----------
    measures
        Whose needs are met, as far as the film has to offer what they ask.
    filmed
        What the film has to offer.
    base
        What is needed besides.
    """
    asked: dict[str, float] = {}
    for need in (*base, *(need for measure in measures for need in measure.needs)):
        if need.stream in SIGHTS and need.holds(filmed):
            asked[need.stream] = max(need.rate_hz, asked.get(need.stream, 0.0))
    return asked


def thin(time_s: Times, rate_hz: float) -> npt.NDArray[np.intp]:
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


def plan(time_s: Times, asked: Mapping[str, float]) -> tuple[Chunk, ...]:
    """Cut a recording into chunks.

    Parameters
    ----------
    time_s
        Presentation times of all frames, seconds.
    asked
        Stream -> frames a second (see `rates`).
    """
    label = "+".join(f"{stream}@{asked[stream]:g}" for stream in sorted(asked))
    chosen = {stream: thin(time_s, rate) for stream, rate in asked.items()}
    return tuple(
        Chunk(f"{first}-{stop}:{label}", first, stop, _within(chosen, first, stop)) for first, stop in edges(time_s)
    )


def plan_marked(time_s: Times, spans: Sequence[Span], survey: Mapping[str, float] = SURVEY) -> tuple[Chunk, ...]:
    """Cut out of a recording what the measures of marked steps need; parameters as for `plan`.

    Chunks that hold any of it take what `survey` asks for along, so that no part of the film is decoded twice.
    """
    asked: dict[str, set[int]] = {}
    for span in spans:
        low, high = np.searchsorted(time_s, [span.onset_s, span.offset_s], side="left")
        for stream, rate in span.rates.items():
            index = thin(time_s, rate)
            asked.setdefault(stream, set()).update(index[(index >= low) & (index <= high)].tolist())
    chosen = {stream: np.array(sorted(index), dtype=np.intp) for stream, index in asked.items()}
    also = {stream: thin(time_s, rate) for stream, rate in survey.items()}
    both = {
        stream: np.union1d(chosen.get(stream, _NOTHING), also.get(stream, _NOTHING)) for stream in {**chosen, **also}
    }
    chunks = []
    for first, stop in edges(time_s):
        if any(index for _, index in _within(chosen, first, stop)):
            wanted = _within(both, first, stop)
            digest = sha256(repr(wanted).encode()).hexdigest()[:12]
            chunks.append(Chunk(f"{first}-{stop}:marked:{digest}", first, stop, wanted, stage=2))
    return tuple(chunks)


def glances(time_s: Times) -> tuple[Chunk, ...]:
    """Cut a recording into stretches for the first look."""
    return tuple(
        Chunk(f"glance:{first}-{stop}", first, stop, (("glance", tuple(range(first, stop, 30))),), stage=0)
        for first, stop in edges(time_s, GLANCE_S)
    )


def still_to_do(
    chunks: Iterable[Chunk], looked: Mapping[str, npt.NDArray[np.bool_]], crowd: Mapping[str, npt.NDArray[np.bool_]]
) -> tuple[Chunk, ...]:
    """Leave out what was looked at, and have everybody looked at where several people are.

    Parameters
    ----------
    chunks
        What is wanted.
    looked
        Stream -> whether each frame was looked at, shape ``(time,)``.
    crowd
        ``"several"`` -> whether more than one person is about at each frame, and stream -> whether each frame was
        looked at for everybody; shape ``(time,)``.
    """
    left = []
    for chunk in chunks:
        everybody = bool(crowd["several"][chunk.first : chunk.stop].any())
        known = {stream: crowd.get(stream, mask) if everybody else mask for stream, mask in looked.items()}
        wanted = tuple(
            (stream, tuple(one for one in index if not known[stream][one])) for stream, index in chunk.wanted
        )
        if any(index for _, index in wanted):
            key = f"{chunk.key}+all" if everybody else chunk.key
            left.append(replace(chunk, key=key, wanted=wanted, everybody=everybody))
    return tuple(left)


def _within(
    chosen: Mapping[str, npt.NDArray[np.intp]], first: int, stop: int
) -> tuple[tuple[str, tuple[int, ...]], ...]:
    return tuple(
        (stream, tuple(int(i) for i in index[(index >= first) & (index < stop)]))
        for stream, index in sorted(chosen.items())
    )


def sound_chunk(frames: int) -> Chunk:
    """Return the unit of work in which the sound of a film of so many frames is heard."""
    return Chunk(SOUND, 0, frames, ((SOUND, ()),), stage=0)


def edges(time_s: Times, length_s: float = CHUNK_S) -> list[tuple[int, int]]:
    """Return first frame and stop of runs of about `length_s`; the last run is never shorter than half of it."""
    if len(time_s) == 0:
        return []
    count = max(1, round(float(time_s[-1] - time_s[0]) / length_s))
    cuts = np.linspace(time_s[0], time_s[-1], count, endpoint=False)
    starts = [int(i) for i in np.unique(np.searchsorted(time_s, cuts - 1e-9))]
    return list(pairwise([*starts, len(time_s)]))
