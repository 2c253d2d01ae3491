"""Sound of a file and the words heard in it, as a film is listened to; the words are kept beside it for others."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path

import av
import numpy as np
import numpy.typing as npt
from av.audio.frame import AudioFrame
from av.audio.resampler import AudioResampler

from review.domain.transcript import Transcript, Word
from review.pipeline.hearing import pauses
from review.speech.recogniser import RATE_HZ, recognise

Sound = npt.NDArray[np.float32]


def read(path: Path) -> Sound:
    """Return the sound of a file as it is listened to."""
    resampler = AudioResampler(format="fltp", layout="mono", rate=RATE_HZ)
    with av.open(str(path)) as container:
        frames = [frame for frame in container.decode(audio=0) if isinstance(frame, AudioFrame)]
    parts = [out.to_ndarray()[0] for frame in [*frames, None] for out in resampler.resample(frame) if out is not None]
    return np.concatenate(parts)


def transcript(sound: Sound) -> Transcript:
    """Return the words of a whole talk, cut at pauses as a film is."""
    hop = RATE_HZ // 30
    level = 10 * np.log10((sound[: len(sound) // hop * hop].reshape(-1, hop) ** 2).mean(axis=1) + 1e-10)
    words: list[Word] = []
    for first, stop in pauses(np.arange(len(level)) * hop / RATE_HZ, level - np.percentile(level, 10)):
        from_s = first * hop / RATE_HZ
        words += [
            Word(word.text, from_s + word.onset_s, from_s + word.offset_s, word.confidence)
            for word in recognise(sound[first * hop : stop * hop])
        ]
    return tuple(words)


def keep(words: Transcript, path: Path) -> None:
    """Write what was heard."""
    path.write_text(json.dumps([asdict(word) for word in words], ensure_ascii=False), "utf-8")


def kept(path: Path) -> Transcript:
    """Return what was written by `keep`."""
    return tuple(Word(**word) for word in json.loads(path.read_text("utf-8")))
