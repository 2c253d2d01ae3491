"""The echo of a room: an impulse response with a stated time of decay, and the measuring of it."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from ..sounds import SAMPLES_PER_SECOND

_FIRST_BACK_S: Final = 0.004
_FIT_DB: Final = (-5.0, -25.0)


def impulse_response(rt60_s: float, direct_db: float = 0.0, seed: int = 3) -> NDArray[np.float64]:
    """Return what a clap sounds like in a room: itself, then noise that decays evenly.

    Parameters
    ----------
    rt60_s
        After how long the echo is 60 dB weaker; 0 for none.
    direct_db
        How much more energy comes straight than by way of the walls, decibels.

    Returns
    -------
    ndarray, shape (n,)
        At `SAMPLES_PER_SECOND`. The first sample is the sound that comes straight: it is 1, nothing is delayed.
    """
    if rt60_s <= 0:
        return np.ones(1)
    count = round(1.2 * rt60_s * SAMPLES_PER_SECOND)
    clock = np.arange(count) / SAMPLES_PER_SECOND
    tail = np.random.default_rng(seed).standard_normal(count) * 10 ** (-3 * clock / rt60_s)
    tail[clock < _FIRST_BACK_S] = 0
    tail *= 10 ** (-direct_db / 20) / np.sqrt((tail**2).sum())
    tail[0] = 1.0
    return tail


def rt60_of(response: NDArray[np.float64], skip_s: float = _FIRST_BACK_S) -> float:
    """Return the time of decay by 60 dB of the echo in an impulse response, seconds.

    The energy still to come is fitted by a straight line from 5 to 25 dB below its start.

    Parameters
    ----------
    skip_s
        What comes straight, before the echo, is left out.

    References
    ----------
    Schroeder MR (1965). J Acoust Soc Am 37:409-412 (cited from memory).
    """
    tail = response[round(skip_s * SAMPLES_PER_SECOND) :]
    left = np.cumsum(tail[::-1] ** 2)[::-1]
    level = 10 * np.log10(left / left[0])
    within = (level <= _FIT_DB[0]) & (level >= _FIT_DB[1])
    slope = np.polyfit(np.flatnonzero(within) / SAMPLES_PER_SECOND, level[within], 1)[0]
    return float(-60 / slope)
