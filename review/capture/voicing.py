"""What tells speech from silence, and voice from whisper, in the sound of a film."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
import scipy
from numpy.typing import NDArray

Numbers = NDArray[np.float64]

HOP_S: Final = 0.05
"""Length of the pieces that are judged, seconds."""

_FULL_SCALE: Final = 32_768.0
_LOW_HZ, _HIGH_HZ = (80.0, 700.0), (1500.0, 7000.0)
_SPEECH_HZ: Final = (200.0, 6000.0)
_PERIODIC_HZ: Final = (100.0, 1000.0)
_PITCH_HZ: Final = (70.0, 400.0)
_LAGS_A_SECOND: Final = 8000.0
_LEAST_POWER: Final = 1e-9
_SILENT_HOPS: Final = 20
_BACKGROUND_HOPS: Final = 1200
_BACKGROUND_PERCENT: Final = 10
_TILT_END_DB: Final = 40.0


@dataclass(frozen=True, slots=True)
class _Bands:
    """How a piece of so many samples is looked at: its window, padded length, bands of the spectrum and lags."""

    window: Numbers
    padded: int
    speech: slice
    low: slice
    high: slice
    periodic: slice
    kept: int
    lags: slice
    fading: Numbers


@lru_cache(maxsize=4)
def _bands(samples: int, rate_hz: int) -> _Bands:
    window = np.hanning(samples)
    padded = scipy.fft.next_fast_len(samples + round(rate_hz / _PITCH_HZ[0]) + 1, real=True)
    step_hz = rate_hz / padded

    def band(ends: tuple[float, float]) -> slice:
        return slice(int(np.ceil(ends[0] / step_hz)), int(np.floor(min(ends[1], rate_hz / 2) / step_hz)) + 1)

    kept = min(padded // 2, round(_LAGS_A_SECOND / 2 / step_hz))
    lag_hz = 2 * kept * step_hz
    fading = np.fft.irfft(np.abs(np.fft.rfft(window, padded)[: kept + 1]) ** 2, 2 * kept)
    lags = slice(int(np.floor(lag_hz / _PITCH_HZ[1])), int(np.ceil(lag_hz / _PITCH_HZ[0])) + 1)
    speech, low, high, periodic = (band(ends) for ends in (_SPEECH_HZ, _LOW_HZ, _HIGH_HZ, _PERIODIC_HZ))
    return _Bands(window, padded, speech, low, high, periodic, kept, lags, fading / fading[0])


def spoken(mono: Numbers, rate_hz: int) -> Numbers:
    """Judge each whole 0.05 s of a piece of at most a second.

    Parameters
    ----------
    mono
        Shape ``(sample,)``, on the 16-bit scale.
    rate_hz
        Samples a second.

    Returns
    -------
    ndarray
        Shape ``(hop, 4)``: power from 200 to 6000 Hz, from 80 to 700 Hz and from 1500 to 7000 Hz, each re a full-scale
        sine; and the voicing, 0 to 1: the greatest autocorrelation at the lags of 70 to 400 Hz, of the sound from 100
        to 1000 Hz weighted with its frequency, which is 1 for a periodic sound.
    """
    samples = int(rate_hz * HOP_S)
    hops = int(len(mono) / (rate_hz * HOP_S) + 1e-6)
    starts = np.minimum(np.round(np.arange(hops) * rate_hz * HOP_S).astype(int), len(mono) - samples)
    bands = _bands(samples, rate_hz)
    pieces = mono[starts[:, None] + np.arange(samples)] / _FULL_SCALE
    power = np.abs(np.fft.rfft(pieces * bands.window, bands.padded)) ** 2
    power *= 4 / (bands.padded * float(bands.window @ bands.window))
    parts = [power[:, part].sum(axis=1) for part in (bands.speech, bands.low, bands.high)]
    weighted = np.zeros((hops, bands.kept + 1))
    weighted[:, bands.periodic] = power[:, bands.periodic] * np.arange(bands.periodic.start, bands.periodic.stop)
    together = np.fft.irfft(weighted, 2 * bands.kept)
    whole = np.maximum(together[:, :1], 1e-15)
    voicing = np.clip((together[:, bands.lags] / whole / bands.fading[bands.lags]).max(axis=1), 0, 1)
    return np.column_stack([*parts, voicing])


def above_background(judged: Numbers) -> tuple[Numbers, Numbers]:
    """Set the powers of a whole film against its own background.

    The background is the tenth percentile of each band's power over a minute about each 0.05 s. Digital silence of more
    than a second is no background: there was no sound yet, or no longer.

    Parameters
    ----------
    judged
        As returned by `spoken`, for all of the film; shape ``(hop, 4)``.

    Returns
    -------
    speech, tilt
        Shape ``(hop,)``, dB: level from 200 to 6000 Hz above the background; and how much more power is left from 80 to
        700 Hz than from 1500 to 7000 Hz once the background is taken off, within 40 dB either way.
    """
    power = judged[:, :3] + _LEAST_POWER
    heard = ~scipy.ndimage.binary_opening(judged[:, 0] < _LEAST_POWER, np.ones(_SILENT_HOPS, bool), border_value=1)
    background = power.copy()
    if heard.any():
        window = (min(_BACKGROUND_HOPS, int(heard.sum())), 1)
        background[heard] = scipy.ndimage.percentile_filter(power[heard], _BACKGROUND_PERCENT, window, mode="mirror")
    left = np.maximum(power - background, 0.01 * background)
    speech = 10 * np.log10(power[:, 0] / background[:, 0])
    tilt = np.clip(10 * np.log10(left[:, 1] / left[:, 2]), -_TILT_END_DB, _TILT_END_DB)
    return speech, tilt
