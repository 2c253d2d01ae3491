"""What is heard besides people: a quiet room, pink noise, a kitchen. Made, not recorded."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from ..sounds import SAMPLES_PER_SECOND, room

_HUM_HZ: Final = ((50.0, 1.0), (100.0, 0.7), (150.0, 0.35), (250.0, 0.15))
_CLINKS_A_SECOND: Final = 0.35
_CLINK_HZ: Final = (2300.0, 6100.0)
_WATER_HZ: Final = (600.0, 5000.0)


def background(kind: str, seconds: float, seed: int) -> NDArray[np.float64]:
    """Return noise of some length with a mean power of 1.

    Parameters
    ----------
    kind
        ``room``, the hiss of a quiet room; ``pink``, as much power in every octave from 40 Hz; ``kitchen``, a hum,
        running water that comes and goes, and clinking dishes over pink noise.

    Raises
    ------
    ValueError
        If there is no such kind.
    """
    random = np.random.default_rng(seed)
    count = round(seconds * SAMPLES_PER_SECOND)
    if kind == "room":
        noise = room(seconds, seed).astype(float)
    elif kind == "pink":
        noise = _shaped(count, random)
    elif kind == "kitchen":
        noise = _kitchen(count, random)
    else:
        raise ValueError(f"there is no background called {kind!r}; choose from room, pink, kitchen")
    return np.asarray(noise / np.sqrt(np.mean(noise**2)))


def _shaped(count: int, random: np.random.Generator, band: tuple[float, float] | None = None) -> NDArray[np.float64]:
    """Return noise of unit power, pink or evenly from one frequency to another."""
    spectrum = np.fft.rfft(random.standard_normal(count))
    hertz = np.fft.rfftfreq(count, 1 / SAMPLES_PER_SECOND)
    if band:
        spectrum *= (hertz > band[0]) & (hertz < band[1])
    else:
        spectrum *= (hertz > 40) / np.sqrt(np.maximum(hertz, 1.0))
    noise = np.fft.irfft(spectrum, count)
    return np.asarray(noise / np.sqrt(np.mean(noise**2)))


def _kitchen(count: int, random: np.random.Generator) -> NDArray[np.float64]:
    clock = np.arange(count) / SAMPLES_PER_SECOND
    hum = sum(size * np.sin(2 * np.pi * hertz * clock) for hertz, size in _HUM_HZ)
    comes = np.clip(np.sin(2 * np.pi * clock / 23.0 + random.uniform(0, 6.28)) + 0.2, 0, None)
    noise = _shaped(count, random) + 0.5 * np.asarray(hum) + comes * _shaped(count, random, _WATER_HZ)
    length = min(count, round(0.3 * SAMPLES_PER_SECOND))
    for start in random.integers(0, count - length + 1, random.poisson(_CLINKS_A_SECOND * clock[-1])):
        own = np.arange(length) / SAMPLES_PER_SECOND
        for hertz in random.uniform(*_CLINK_HZ, 3):
            noise[start : start + length] += 2.5 * np.sin(2 * np.pi * hertz * own) * np.exp(-own * 22)
    return np.asarray(noise)
