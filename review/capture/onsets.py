"""Sudden sounds, such as a hammer on a tendon: when they begin, how far they rise, and how fast they fall again."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import scipy
from numpy.typing import NDArray

Numbers = NDArray[np.float64]

HOP_S: Final = 0.0025
"""Time step in which the sound's power is followed, seconds."""

LEAST_RISE_DB: Final = 6.0
"""Smaller rises are no onset."""

_HOPS_A_SECOND: Final = 400
_BANDS_HZ: Final = ((60.0, 500.0), (500.0, 2500.0), (2500.0, 7500.0))
_NYQUIST_SHARE: Final = 0.9
_FULL_SCALE: Final = 32_768.0
_LEAST_POWER: Final = 1e-9
_SMOOTH: Final = 4
_BEFORE: Final = 25
_BEFORE_ENDS: Final = 6
_APART: Final = 48
_RISES_FROM: Final = 16
_FALLS_AFTER: Final = 56
_PIECE: Final = 24_000
_MARGIN: Final = 200


@dataclass(frozen=True, slots=True)
class Onsets:
    """Sudden sounds in order of time, each array of shape ``(onset,)``.

    Attributes
    ----------
    moment_s
        When each begins, seconds from the first sample.
    rise_db
        How far it rises above what was heard just before, or above the background of the whole sound if that is more.
    fall_db
        How far it has fallen 0.14 s after its loudest.
    """

    moment_s: Numbers
    rise_db: Numbers
    fall_db: Numbers


class OnsetEar:
    """Listens to a sound piece by piece and keeps only its power in three bands, 400 numbers a second each.

    Parameters
    ----------
    rate_hz
        Samples a second.
    """

    def __init__(self, rate_hz: int) -> None:
        self._rate_hz = rate_hz
        top = _NYQUIST_SHARE * rate_hz / 2
        self._filters = [
            scipy.signal.butter(1, (low, min(high, top)), "bandpass", fs=rate_hz, output="sos")
            for low, high in _BANDS_HZ
            if low < top / 2
        ]
        self._states = [np.zeros((len(sections), 2)) for sections in self._filters]
        self._power: list[NDArray[np.float32]] = []

    def hear(self, mono: Numbers) -> None:
        """Take the next second of sound, shape ``(sample,)``, on the 16-bit scale; the last one may be shorter."""
        hops = min(_HOPS_A_SECOND, int(len(mono) / (self._rate_hz * HOP_S) + 1e-6))
        edges = np.round(np.arange(hops + 1) * self._rate_hz * HOP_S).astype(int)
        edges[-1] = min(edges[-1], len(mono))
        powers = np.empty((len(self._filters), hops), np.float32)
        for band, sections in enumerate(self._filters):
            heard, self._states[band] = scipy.signal.sosfilt(sections, mono, zi=self._states[band])
            powers[band] = np.add.reduceat(heard[: edges[-1]] ** 2, edges[:-1]) / np.diff(edges)
        self._power.append(powers / np.float32(_FULL_SCALE**2))

    def onsets(self) -> Onsets:
        """Return the sudden sounds of all that was heard.

        A rise is half the greatest rise among three bands (60 to 500, 500 to 2500, 2500 to 7500 Hz) and half that of
        all of them, of the power over 0.01 s above the median from 0.075 to 0.015 s before. Of two within 0.12 s the
        greater counts. It begins where the power first is a tenth of its greatest.
        """
        power = np.concatenate(self._power, axis=1) if self._power else np.zeros((len(self._filters), 0), np.float32)
        floor = np.zeros(len(self._filters))
        if power.shape[1]:
            floor[:] = np.percentile(power, 20, axis=1)
        found = []
        for start in range(0, power.shape[1], _PIECE):
            first = max(0, start - _MARGIN)
            piece = power[:, first : start + _PIECE + _MARGIN].astype(np.float64)
            whose = (start - first, start - first + _PIECE)
            found += [(first * HOP_S + at, rise, fall) for at, rise, fall in _onsets_in(piece, floor, whose)]
        return Onsets(*np.array(sorted(found), np.float64).reshape(-1, 3).T)


def _onsets_in(power: Numbers, floor: Numbers, whose: tuple[int, int]) -> list[tuple[float, float, float]]:
    """Return moment, rise and fall of the onsets whose peak lies in the hops ``whose[0] <= hop < whose[1]``."""
    raised = power + _LEAST_POWER
    least = 10 * np.log10(floor + _LEAST_POWER)
    level = 10 * np.log10(scipy.ndimage.uniform_filter1d(raised, _SMOOTH, axis=1))
    before = scipy.ndimage.median_filter(level, (1, _BEFORE), origin=(0, _BEFORE // 2), mode="nearest")
    before = np.roll(before, _BEFORE_ENDS, axis=1)
    before[:, : _BEFORE + _BEFORE_ENDS] = level[:, : _BEFORE + _BEFORE_ENDS]
    before = np.maximum(before, least[:, None])
    total, total_before = (10 * np.log10((10 ** (part / 10)).sum(axis=0)) for part in (level, before))
    rise = 0.5 * np.maximum(level - before, 0).max(axis=0) + 0.5 * np.maximum(total - total_before, 0)
    peaks, _ = scipy.signal.find_peaks(rise, height=LEAST_RISE_DB, distance=_APART)
    sharp = raised.sum(axis=0)
    found = []
    for peak in peaks[(peaks >= whose[0]) & (peaks < whose[1])]:
        loudest = int(peak) + int(np.argmax(total[peak : peak + _RISES_FROM]))
        after = total[min(len(total) - 1, loudest + _FALLS_AFTER)]
        found.append((_begins(sharp, loudest), float(rise[peak]), float(total[loudest] - after)))
    return found


def _begins(power: Numbers, loudest: int) -> float:
    """Return when a sound begins whose smoothed power is greatest at a hop, seconds from the first hop."""
    first = max(0, loudest - _RISES_FROM)
    near = power[first : loudest + _SMOOTH]
    top = int(np.argmax(near))
    quiet = np.flatnonzero(near[: top + 1] < 0.1 * near[top])
    return float((first + (quiet[-1] + 1 if len(quiet) else top)) * HOP_S)
