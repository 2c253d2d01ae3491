"""Made-up sound with known moments: knocks, a voice with formants, a whisper with the same formants, and noise."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import numpy.typing as npt
import xarray as xr
from scipy import signal

from review.capture.loudness import sound_tracks
from review.capture.probe import probe
from review.capture.voicing import HOP_S, above_background
from review.capture.voicing import spoken as judged_by_ear
from review.domain.tracks import FOUND, empty_tracks
from tests.films import SOUND_HZ, even_times, make_film

Sound = npt.NDArray[np.float64]

_VOWELS = ((700.0, 1200.0, 2600.0), (300.0, 2200.0, 3000.0), (400.0, 800.0, 2400.0), (500.0, 1500.0, 2500.0))
_SYLLABLE_S = 0.22


def noise(seconds: float, rms: float, seed: int = 1) -> Sound:
    """Return white noise of this root mean square."""
    return np.random.default_rng(seed).normal(0, rms, round(seconds * SOUND_HZ))


def knock(rms: float, pitch_hz: float = 180.0) -> Sound:
    """Return a dull knock of a twelfth of a second that dies away, `rms` over its first 0.02 s."""
    time_s = np.arange(SOUND_HZ // 12) / SOUND_HZ
    body = np.sin(2 * np.pi * pitch_hz * time_s) + 0.5 * np.sin(2 * np.pi * 3.1 * pitch_hz * time_s)
    struck = (body + 0.5 * noise(1, 1, 7)[: len(time_s)]) * np.exp(-time_s / 0.015)
    return struck * rms / np.sqrt(np.mean(struck[: SOUND_HZ // 50] ** 2))


def voiced(seconds: float, rms: float, pitch_hz: float = 120.0, seed: int = 2) -> Sound:
    """Return syllables of a voice whose pitch wanders, with a hiss between some of them."""
    count = round(seconds * SOUND_HZ)
    wander = np.cumsum(np.random.default_rng(seed).normal(0, 1, count)) / np.sqrt(count)
    phase = np.cumsum(pitch_hz * (1 + 0.1 * wander) / SOUND_HZ)
    pulses = np.diff(np.floor(phase), prepend=0.0)
    return _spoken(signal.lfilter([1], [1, -0.97], pulses), rms)


def whispered(seconds: float, rms: float, seed: int = 3) -> Sound:
    """Return the same syllables with noise in the place of the voice."""
    return _spoken(noise(seconds, 1.0, seed), rms)


def _spoken(source: Sound, rms: float) -> Sound:
    out = np.zeros(len(source))
    length = round(_SYLLABLE_S * SOUND_HZ)
    for number, start in enumerate(range(0, len(source), length)):
        piece = source[start : start + length]
        formants = (
            signal.lfilter(*signal.iirpeak(hz, hz / 160, fs=SOUND_HZ), piece) for hz in _VOWELS[number % len(_VOWELS)]
        )
        shape = np.sin(np.pi * np.arange(len(piece)) / length) ** 0.5
        out[start : start + length] = np.sum(list(formants), axis=0) * shape
    return out * rms / np.sqrt(np.mean(out**2))


def put(sound: Sound, part: Sound, at_s: float) -> None:
    """Add a part to a sound from a moment on, in place."""
    start = round(at_s * SOUND_HZ)
    sound[start : start + len(part)] += part[: len(sound) - start]


def heard(
    folder: Path, sound: Sound | None, rate_hz: float = 30.0, seconds: float | None = None, from_s: float = 0.0
) -> xr.Dataset:
    """Return the tracks of a film of so many frames a second that has this sound, unpacked."""
    length_s = seconds or (0 if sound is None else len(sound) / SOUND_HZ)
    film = make_film(
        folder / "heard.mp4", even_times(round(length_s * rate_hz), rate_hz), sound=sound, sound_from_s=from_s
    )
    return sound_tracks(film, probe(film)[1], 128, 96)


def speech_tracks(sound: Sound, rate_hz: float = 30.0) -> xr.Dataset:
    """Return the tracks that measures of the voice need of a sound, without making a film of it."""
    times = np.array(even_times(round(len(sound) / SOUND_HZ * rate_hz), rate_hz))
    seconds = np.split(sound * 32_768.0, range(SOUND_HZ, len(sound), SOUND_HZ))
    judged = np.concatenate([judged_by_ear(second, SOUND_HZ) for second in seconds])
    hop = np.minimum((times / HOP_S + 1e-6).astype(int), len(judged) - 1)
    tracks = empty_tracks(times, 128, 96)
    tracks["sound_state"].values[:] = FOUND
    tracks["sound_clipped"].values[:] = 0.0
    tracks["sound_voicing"].values[:] = judged[hop, 3]
    tracks["sound_speech"].values[:] = above_background(judged)[0][hop]
    return tracks
