"""Made sounds of a clip: a room, knocks, spoken and whispered stretches. Nobody was recorded."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import scipy.signal
from numpy.typing import NDArray

Sound = NDArray[np.float32]
"""Samples of one channel, -1 to 1, at `SAMPLES_PER_SECOND`."""

SAMPLES_PER_SECOND: Final = 48_000

ROOM_DB: Final = -56.0
"""Level of the room in decibels below full scale (root mean square)."""

KNOCK_OVER_ROOM_DB: Final = 20.0
"""How much louder than the room a knock is in its first 40 ms."""

_KNOCK_S: Final = 0.04
_KNOCK_HZ: Final = ((150.0, 1.0), (235.0, 0.7), (410.0, 0.4), (900.0, 0.15))

_VOWELS_HZ: Final = ((730, 1090, 2440), (530, 1840, 2480), (270, 2290, 3010), (570, 840, 2410), (300, 870, 2240))
"""Formants of five vowels (Peterson GE, Barney HL 1952, J Acoust Soc Am 24:175-184; cited from memory)."""

_BANDWIDTHS_HZ: Final = (80, 110, 160)
_SYLLABLE_S: Final = 0.22
_GAP_S: Final = 0.05


@dataclass(frozen=True)
class Stretch:
    """Somebody speaks (``voiced``) or whispers from onset to offset, so many decibels above the room."""

    kind: Literal["voiced", "whispered"]
    onset_s: float
    offset_s: float
    over_room_db: float = 26.0


def room(seconds: float, seed: int = 1, level_db: float = ROOM_DB) -> Sound:
    """Return the hum and hiss of a quiet room: noise that falls with frequency."""
    random = np.random.default_rng(seed)
    count = round(seconds * SAMPLES_PER_SECOND)
    spectrum = np.fft.rfft(random.standard_normal(count))
    hertz = np.fft.rfftfreq(count, 1 / SAMPLES_PER_SECOND)
    spectrum *= 1 / np.sqrt(1 + (hertz / 400) ** 2) * (hertz > 40)
    return _at_level(np.fft.irfft(spectrum, count), level_db)


def with_knocks(sound: Sound, moments_s: Sequence[float], over_room_db: float = KNOCK_OVER_ROOM_DB) -> Sound:
    """Return `sound` with a dull knock that begins at each moment."""
    result = sound.copy()
    level = level_db(sound) + over_room_db
    clock = np.arange(round(0.25 * SAMPLES_PER_SECOND)) / SAMPLES_PER_SECOND
    body = sum(
        size * np.sin(2 * np.pi * hertz * clock) * np.exp(-clock * (18 + hertz / 12)) for hertz, size in _KNOCK_HZ
    )
    click = np.random.default_rng(2).standard_normal(len(clock)) * np.exp(-clock / 0.0025)
    knock = np.asarray(body + 0.25 * click) * np.minimum(clock / 0.0008, 1)
    first = round(_KNOCK_S * SAMPLES_PER_SECOND)
    knock *= 10 ** (level / 20) / np.sqrt((knock[:first] ** 2).mean())
    for moment in moments_s:
        start = round(moment * SAMPLES_PER_SECOND)
        end = min(start + len(knock), len(result))
        result[start:end] += knock[: end - start].astype(np.float32)
    return result


def with_speech(sound: Sound, stretches: Sequence[Stretch], pitch_hz: float = 120.0, seed: int = 4) -> Sound:
    """Return `sound` with syllables in the stretches: a buzz through formants when spoken, noise when whispered."""
    result = sound.copy()
    background = level_db(sound)
    for number, stretch in enumerate(stretches):
        start, end = (round(moment * SAMPLES_PER_SECOND) for moment in (stretch.onset_s, stretch.offset_s))
        made = _syllables(end - start, stretch.kind, pitch_hz, np.random.default_rng(seed + number))
        result[start:end] += _at_level(made, background + stretch.over_room_db)
    return result


def level_db(sound: NDArray[np.floating]) -> float:
    """Return the root mean square of a sound in decibels below full scale."""
    return float(10 * np.log10(np.mean(np.asarray(sound, float) ** 2)))


def _at_level(sound: NDArray[np.floating], wanted_db: float) -> Sound:
    return (sound * 10 ** ((wanted_db - level_db(sound)) / 20)).astype(np.float32)


def _syllables(count: int, kind: str, pitch_hz: float, random: np.random.Generator) -> NDArray[np.float64]:
    source = _buzz(count, pitch_hz, random) if kind == "voiced" else random.standard_normal(count)
    result = np.zeros(count)
    length, gap = (round(seconds * SAMPLES_PER_SECOND) for seconds in (_SYLLABLE_S, _GAP_S))
    for start in range(0, count, length + gap):
        end = min(start + length, count)
        vowel = _VOWELS_HZ[int(random.integers(len(_VOWELS_HZ)))]
        fade = np.sin(np.pi * (np.arange(end - start) + 0.5) / length) ** 0.6
        result[start:end] = _through_formants(source[start:end], vowel) * fade
    return result


def _buzz(count: int, pitch_hz: float, random: np.random.Generator) -> NDArray[np.float64]:
    """Pulses of a voice whose pitch falls and wavers a little, softened as by the glottis."""
    clock = np.arange(count) / SAMPLES_PER_SECOND
    pitch = pitch_hz * (1.06 - 0.08 * clock / clock[-1] + 0.02 * np.sin(2 * np.pi * 2.1 * clock + random.random()))
    turns = np.cumsum(pitch) / SAMPLES_PER_SECOND
    pulses = np.diff(np.floor(turns), prepend=0.0)
    return np.asarray(scipy.signal.lfilter([1.0], [1.0, -1.9, 0.9025], pulses)) + 0.002 * random.standard_normal(count)


def _through_formants(source: NDArray[np.float64], formants_hz: tuple[int, ...]) -> NDArray[np.float64]:
    sound = source
    for hertz, width in zip(formants_hz, _BANDWIDTHS_HZ, strict=True):
        radius = np.exp(-np.pi * width / SAMPLES_PER_SECOND)
        poles = [1.0, -2 * radius * np.cos(2 * np.pi * hertz / SAMPLES_PER_SECOND), radius**2]
        sound = np.asarray(scipy.signal.lfilter([sum(poles)], poles, sound))
    return np.diff(sound, prepend=0.0)
