"""What the sound of a film is like at every frame: how loud, clipped, humming, sudden, voiced."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Final

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from review.capture.onsets import OnsetEar, Onsets
from review.capture.sound import own_rate, picture_zero, sound_blocks
from review.capture.voicing import HOP_S, above_background, spoken
from review.domain.tracks import FOUND, NOT_FOUND, empty_tracks

Numbers = NDArray[np.float64]
Samples = NDArray[np.int16]

SILENCE_DB: Final = -120.0

_HOPS_A_WINDOW: Final = 20
_FULL_SCALE: Final = 32_768.0
_CLIPPED: Final = math.ceil(10 ** (-0.5 / 20) * _FULL_SCALE)
"""Half a decibel below the end of the scale: packing the sound (AAC, Opus) rounds off what was cut off there."""

_MAINS_HZ: Final = (50.0, 60.0)
_HARMONICS: Final = 5
_HALF_BAND_HZ: Final = 2.0


def sound_tracks(film: Path, times: NDArray[np.float64], width_px: int, height_px: int) -> xr.Dataset:
    """Return the stream ``sound`` of the tracks of the whole film.

    The sound is heard once, in pieces, at its own rate and on the clock of the picture. Each frame is given the level
    and the clipped share of the 0.05 s in which it begins to be shown, and the hum of the whole second, counted from
    the first frame, in which that lies. Voicing, speech level and tilt are those of the same 0.05 s, see
    `review.capture.voicing`; the sudden sound of a frame is the strongest that begins before the next frame is
    shown, see `review.capture.onsets`. All but clipping are those of the mix to mono. Clipping is counted on each
    channel as it was recorded, and the worst one is told: mixing and slower sampling both round off clipped tops.

    Parameters
    ----------
    film
        The film.
    times
        Presentation times of all its frames, shape ``(time,)``, seconds.
    width_px, height_px
        Size of the picture as displayed.

    Returns
    -------
    xarray.Dataset
        ``sound_state`` is "looked and not found" where there is no sound. ``sound_level`` is in dB re the RMS of a
        full-scale sine (AES17), not below `SILENCE_DB`.

    Raises
    ------
    FilmRefused
        If the film cannot be opened.
    """
    tracks = empty_tracks(times, width_px, height_px, streams=("sound",))
    tracks["sound_state"].values[:] = NOT_FOUND
    zero_s = picture_zero(film, times)
    if zero_s is None:
        return tracks
    rate_hz = own_rate(film) or 0
    ear = OnsetEar(rate_hz) if rate_hz else None
    seconds = _seconds(film, zero_s, rate_hz, float(times[-1]) + 1) if rate_hz else ()
    heard = [_judged(second, rate_hz, ear) for second in seconds]
    if not heard or ear is None:
        return tracks
    whole = np.concatenate(heard)
    speech, tilt = above_background(whole[:, 3:])
    hop = (times / HOP_S + 1e-6).astype(int)
    known = hop < len(whole)
    tracks["sound_state"].values[known] = FOUND
    columns = {"level": whole[:, 0], "clipped": whole[:, 1], "hum": whole[:, 2], "voicing": whole[:, 6]}
    for name, values in (columns | {"speech": speech, "tilt": tilt}).items():
        tracks[f"sound_{name}"].values[known] = values[hop[known]]
    _put_onsets(tracks, ear.onsets(), known)
    return tracks


def _put_onsets(tracks: xr.Dataset, onsets: Onsets, known: NDArray[np.bool_]) -> None:
    """Give each frame the strongest sudden sound that begins while it is shown."""
    times = tracks["time"].values
    frames = np.searchsorted(times, onsets.moment_s, side="right") - 1
    tracks["sound_onset"].values[known] = 0.0
    tracks["sound_onset_after"].values[known] = 0.0
    tracks["sound_onset_fall"].values[known] = 0.0
    for number in np.argsort(onsets.rise_db):
        frame = frames[number]
        if frame >= 0 and known[frame]:
            tracks["sound_onset"].values[frame] = onsets.rise_db[number]
            tracks["sound_onset_after"].values[frame] = onsets.moment_s[number] - times[frame]
            tracks["sound_onset_fall"].values[frame] = onsets.fall_db[number]


def _seconds(film: Path, zero_s: float, rate_hz: int, stop_s: float) -> Iterator[Samples]:
    """Yield the sound in pieces of one second, shape ``(sample, channel)``; the last one may be shorter."""
    kept: list[Samples] = []
    waiting = 0
    for block in sound_blocks(film, zero_s, rate_hz, None, stop_s):
        kept.append(block)
        waiting += len(block)
        if waiting >= rate_hz:
            run = np.concatenate(kept)
            whole = len(run) // rate_hz * rate_hz
            yield from run[:whole].reshape(-1, rate_hz, run.shape[1])
            kept, waiting = [run[whole:]], len(run) - whole
    if waiting >= rate_hz * HOP_S:
        yield np.concatenate(kept)


def _judged(second: Samples, rate_hz: int, ear: OnsetEar | None) -> Numbers:
    """Judge each 0.05 s of a piece of at most a second, and have `ear` hear it.

    Shape ``(hop, 7)``: level, clipped share, hum, and what `spoken` gives.
    """
    hops = min(_HOPS_A_WINDOW, int(len(second) / (rate_hz * HOP_S) + 1e-6))
    edges = np.round(np.arange(hops + 1) * rate_hz * HOP_S).astype(int)
    edges[-1] = min(edges[-1], len(second))
    used, sizes = second[: edges[-1]], np.diff(edges)
    mono = second.astype(np.float64) @ np.full(second.shape[1], 1 / second.shape[1])
    if ear is not None:
        ear.hear(mono)
    power = np.add.reduceat(mono[: edges[-1]] ** 2, edges[:-1]) / sizes
    level = np.maximum(20 * np.log10(np.maximum(np.sqrt(2 * power) / _FULL_SCALE, 1e-9)), SILENCE_DB)
    ends = ((used >= _CLIPPED) | (used <= -_CLIPPED)).astype(np.int32)
    clipped = np.add.reduceat(ends, edges[:-1]).max(axis=1) / sizes
    hum = np.full(hops, hum_share(mono, rate_hz))
    return np.column_stack([level, clipped, hum, spoken(mono, rate_hz)])


def hum_share(sound: Numbers, rate_hz: float) -> float:
    """Return the share (0 to 1) of the power that lies within 2 Hz of 50 or 60 Hz and four harmonics.

    The stronger of the two families counts; silence has none.

    Examples
    --------
    >>> time_s = np.arange(8000) / 8000
    >>> round(hum_share(np.sin(2 * np.pi * 50 * time_s), 8000), 2)
    1.0
    >>> round(hum_share(np.sin(2 * np.pi * 440 * time_s), 8000), 2)
    0.0
    """
    power = np.abs(np.fft.rfft((sound - sound.mean()) * _window(len(sound)))) ** 2
    total = float(power.sum())
    if total <= len(sound):
        return 0.0
    return max(float(power[band].sum()) for band in _near_mains(len(sound), rate_hz)) / total


@lru_cache(maxsize=4)
def _window(samples: int) -> Numbers:
    """Return the weights under which a piece is seen, falling to 0 at both ends."""
    return np.hanning(samples)


@lru_cache(maxsize=4)
def _near_mains(samples: int, rate_hz: float) -> list[NDArray[np.intp]]:
    """Return the places in a spectrum that lie near each of the two mains frequencies and their harmonics."""
    frequency = np.fft.rfftfreq(samples, 1 / rate_hz)
    return [
        np.flatnonzero(
            np.min(np.abs(frequency[:, None] - mains * np.arange(1, _HARMONICS + 1)), axis=1) <= _HALF_BAND_HZ
        )
        for mains in _MAINS_HZ
    ]
