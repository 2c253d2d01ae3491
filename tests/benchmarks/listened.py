"""Sound of a file and the words heard in it, as a film is listened to; the words are kept beside it for others."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from pathlib import Path

import av
import numpy as np
import numpy.typing as npt
from av.audio.frame import AudioFrame
from av.audio.resampler import AudioResampler

from review.domain.transcript import Transcript, Word
from review.pipeline.hearing import pauses
from review.speech.recogniser import RATE_HZ, recognise_twice

Sound = npt.NDArray[np.float32]


@dataclass(frozen=True)
class Heard:
    """The words of both listenings."""

    words: Transcript
    again: Transcript = ()


def read(path: Path) -> Sound:
    """Return the sound of a file as it is listened to."""
    resampler = AudioResampler(format="fltp", layout="mono", rate=RATE_HZ)
    with av.open(str(path)) as container:
        frames = [frame for frame in container.decode(audio=0) if isinstance(frame, AudioFrame)]
    parts = [out.to_ndarray()[0] for frame in [*frames, None] for out in resampler.resample(frame) if out is not None]
    return np.concatenate(parts)


def transcript(sound: Sound, hints: str) -> Heard:
    """Return the words of a whole talk, cut at pauses and where doubtful listened to twice, as a film is."""
    hop = RATE_HZ // 30
    level = 10 * np.log10((sound[: len(sound) // hop * hop].reshape(-1, hop) ** 2).mean(axis=1) + 1e-10)
    words: list[Word] = []
    again: list[Word] = []
    for first, stop in pauses(np.arange(len(level)) * hop / RATE_HZ, level - np.percentile(level, 10)):
        once, twice = recognise_twice(sound[first * hop : stop * hop], hints)
        words += _later(once, first * hop / RATE_HZ)
        again += _later(twice, first * hop / RATE_HZ)
    return Heard(tuple(words), tuple(again))


def _later(words: Transcript, by_s: float) -> Transcript:
    return tuple(Word(word.text, by_s + word.onset_s, by_s + word.offset_s, word.confidence) for word in words)


def keep(heard: Heard, path: Path) -> None:
    """Write what was heard."""
    path.write_text(json.dumps(asdict(heard), ensure_ascii=False), "utf-8")


def kept(path: Path) -> Heard:
    """Return what was written by `keep`."""
    found = json.loads(path.read_text("utf-8"))
    return Heard(*(tuple(Word(**word) for word in found[which]) for which in ("words", "again")))
