"""What a voice returns: sound at the recipe's rate, and when each word of it is heard."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
import scipy.signal
from numpy.typing import NDArray

from ..sounds import SAMPLES_PER_SECOND, Sound

_WINDOW = 1024
_ENVELOPE_BINS = 18
"""Coefficients of the cepstrum that are kept: the throat's shape without the voice's pitch."""


@dataclass(frozen=True)
class Heard:
    """A word within a piece of speech, seconds from its start."""

    word: str
    onset_s: float
    offset_s: float


@dataclass(frozen=True)
class Spoken:
    """A piece of speech.

    Parameters
    ----------
    sound
        One channel at `SAMPLES_PER_SECOND`; it begins with the first word and ends with the last.
    words
        In order; none overlaps the next.
    """

    sound: Sound
    words: tuple[Heard, ...]

    @property
    def seconds(self) -> float:
        """Length."""
        return len(self.sound) / SAMPLES_PER_SECOND

    @property
    def rms(self) -> float:
        """Root mean square of the whole piece."""
        return float(np.sqrt(np.mean(self.sound.astype(float) ** 2)))


class Speaks(Protocol):
    """Somebody or something that says a text."""

    precision_s: float
    """How exact the times of its words are."""

    def say(self, text: str) -> Spoken:
        """Return `text` spoken; its words are those of `speech.words_of`."""


def trimmed(sound: NDArray[np.floating], rate: int, words: list[Heard], margin_s: float = 0.03) -> Spoken:
    """Return speech cut to its words, with a little around them, and brought to the recipe's rate.

    Parameters
    ----------
    sound
        One channel of `rate` samples a second.
    words
        Within the sound, in order.
    """
    start = max(0, int((words[0].onset_s - margin_s) * rate))
    end = min(len(sound), int((words[-1].offset_s + margin_s) * rate))
    common = int(np.gcd(rate, SAMPLES_PER_SECOND))
    cut = scipy.signal.resample_poly(np.asarray(sound[start:end], float), SAMPLES_PER_SECOND // common, rate // common)
    shift = start / rate
    moved = tuple(Heard(word.word, word.onset_s - shift, word.offset_s - shift) for word in words)
    return Spoken(cut.astype(np.float32), moved)


def whispered(spoken: Spoken, seed: int = 5) -> Spoken:
    """Return the same words without a voice: noise through the shapes that the throat takes."""
    _, _, bins = scipy.signal.stft(spoken.sound, SAMPLES_PER_SECOND, nperseg=_WINDOW)
    cepstrum = np.fft.irfft(np.log(np.abs(bins) + 1e-7), axis=0)
    cepstrum[_ENVELOPE_BINS : 1 - _ENVELOPE_BINS] = 0
    envelope = np.exp(np.fft.rfft(cepstrum, axis=0).real)
    phases = np.random.default_rng(seed).uniform(0, 2 * np.pi, bins.shape)
    _, sound = scipy.signal.istft(envelope * np.exp(1j * phases), SAMPLES_PER_SECOND, nperseg=_WINDOW)
    raised = scipy.signal.lfilter([1.0, -0.85], [1.0], sound)[: len(spoken.sound)]
    raised *= spoken.rms / np.sqrt(np.mean(raised**2))
    return Spoken(raised.astype(np.float32), spoken.words)
