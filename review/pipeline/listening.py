"""Listening to a stretch of a film, as a unit of work by itself.

Workers that listen are several and hold the recogniser each: they load neither what tracks are laid out with nor what
looks at pictures (`review.pipeline.orders`), which takes 90 MB in each.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from review.domain.transcript import Transcript, Word
from review.pipeline.chunk import Chunk
from review.pipeline.memory import give_back, roomy


@dataclass(frozen=True, slots=True)
class ListeningOrder:
    """A stretch of a film to listen to, and all that a worker must know to do it; it can be sent to another process.

    Attributes
    ----------
    chunk
        Which frames' sound.
    film
        The original.
    times
        Presentation times of all its frames, shape ``(time,)``, seconds.
    voice_model
        Folder of another voice model than the installed one.
    hints
        Phrases that are likely to be said.
    """

    chunk: Chunk
    film: Path
    times: npt.NDArray[np.float64]
    voice_model: Path | None = None
    hints: str = ""


@dataclass(frozen=True, slots=True)
class Heard:
    """What came of listening, and of listening again where that was doubtful: words on the clock of the film."""

    words: Transcript
    again: Transcript = ()


def listen(order: ListeningOrder) -> Heard:
    """Listen to a stretch of a film.

    Raises
    ------
    ModelRefused
        If the voice model cannot be used.
    FilmRefused
        If the film cannot be opened.
    """
    try:
        with roomy():
            return _heard(order)
    finally:
        give_back()


def _heard(order: ListeningOrder) -> Heard:
    from review.capture.sound import picture_zero, stretch
    from review.speech.recogniser import RATE_HZ, recognise_twice

    chunk, times = order.chunk, order.times
    zero_s = picture_zero(order.film, times)
    if zero_s is None:
        return Heard(())
    onset_s = float(times[chunk.first])
    offset_s = float(times[chunk.stop]) if chunk.stop < len(times) else float(times[-1]) + 1.0
    sound = stretch(order.film, zero_s, onset_s, offset_s, RATE_HZ)
    words, again = recognise_twice(sound, order.hints, order.voice_model)
    return Heard(_later(words, onset_s), _later(again, onset_s))


def _later(words: Transcript, by_s: float) -> Transcript:
    return tuple(
        Word(word.text, round(by_s + word.onset_s, 3), round(by_s + word.offset_s, 3), round(word.confidence, 3))
        for word in words
    )
