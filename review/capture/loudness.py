"""How loud the sound of a film is at every frame, how much of it is clipped, how much is mains hum."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Final

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from review.capture.clock import clock_of
from review.capture.film import open_film, picture_stream
from review.capture.sound import sound_blocks
from review.domain.tracks import FOUND, NOT_FOUND, empty_tracks

Numbers = NDArray[np.float64]

RATE_HZ: Final = 16_000
HOP_S: Final = 0.05
SILENCE_DB: Final = -120.0

_HOP: Final = round(RATE_HZ * HOP_S)
_HOPS_A_WINDOW: Final = 20
_FULL_SCALE: Final = 32_768.0
_CLIPPED: Final = 0.985 * _FULL_SCALE
_MAINS_HZ: Final = (50.0, 60.0)
_HARMONICS: Final = 5
_HALF_BAND_HZ: Final = 2.0


def sound_tracks(film: Path, times: NDArray[np.float64], width_px: int, height_px: int) -> xr.Dataset:
    """Return tracks of the whole film in which the stream ``sound`` is filled.

    The sound is heard once, in pieces, as mono at 16 kHz on the clock of the picture. Each frame is given the level and
    the clipped share of the 0.05 s in which it begins to be shown, and the hum of the whole second, counted from
    the first frame, in which that lies. Clipping is judged after the mix to mono: what is clipped on one channel only,
    or for a few samples of a faster recording, is mostly not seen.

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
    tracks = empty_tracks(times, width_px, height_px)
    tracks["sound_state"].values[:] = NOT_FOUND
    with open_film(film, threads=False) as container:
        clock = clock_of(container, picture_stream(container))
    if clock is None:
        return tracks
    zero_s = clock.origin * clock.tick_s - float(times[clock.unstamped])
    heard = [_judged(second) for second in _seconds(film, zero_s)]
    if not heard:
        return tracks
    level, clipped, hum = (np.concatenate(part) for part in zip(*heard, strict=True))
    hop = (times / HOP_S + 1e-6).astype(int)
    known = hop < len(level)
    tracks["sound_state"].values[known] = FOUND
    for name, values in (("sound_level", level), ("sound_clipped", clipped), ("sound_hum", hum)):
        tracks[name].values[known] = values[hop[known]]
    return tracks


def _seconds(film: Path, zero_s: float) -> Iterator[Numbers]:
    """Yield the sound in pieces of one second; the last one may be shorter."""
    size = _HOP * _HOPS_A_WINDOW
    kept = np.zeros(0)
    for block in sound_blocks(film, zero_s, RATE_HZ, 1):
        kept = np.concatenate([kept, block[:, 0].astype(np.float64)])
        while len(kept) >= size:
            yield kept[:size]
            kept = kept[size:]
    if len(kept) >= _HOP:
        yield kept


def _judged(second: Numbers) -> tuple[Numbers, Numbers, Numbers]:
    """Return level, clipped share and hum of each 0.05 s of a piece."""
    hops = second[: len(second) // _HOP * _HOP].reshape(-1, _HOP)
    rms = np.sqrt((hops**2).mean(axis=1)) * np.sqrt(2) / _FULL_SCALE
    level = np.maximum(20 * np.log10(np.maximum(rms, 1e-9)), SILENCE_DB)
    clipped = (np.abs(hops) >= _CLIPPED).mean(axis=1)
    return level, clipped, np.full(len(hops), hum_share(second, RATE_HZ))


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
    power = np.abs(np.fft.rfft((sound - sound.mean()) * np.hanning(len(sound)))) ** 2
    frequency = np.fft.rfftfreq(len(sound), 1 / rate_hz)
    total = float(power.sum())
    if total <= len(sound):
        return 0.0
    near = [
        np.min(np.abs(frequency[:, None] - mains * np.arange(1, _HARMONICS + 1)), axis=1) <= _HALF_BAND_HZ
        for mains in _MAINS_HZ
    ]
    return max(float(power[band].sum()) for band in near) / total
