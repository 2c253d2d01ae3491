"""Sudden sounds of made films: their moment, their rise, and none where there is none."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from review.capture.onsets import OnsetEar
from tests.synthetic_sound import heard, knock, noise, put

ROOM = 0.003
MOMENTS = (1.013, 2.5, 3.271, 4.999)


def found(tracks: xr.Dataset, least_db: float = 12.0) -> np.ndarray:
    """Return the moments of the sudden sounds that rise by so much."""
    strong = tracks["sound_onset"].values >= least_db
    return (tracks["time"].values + tracks["sound_onset_after"].values)[strong]


def knocks(above_db: float, seed: int = 1) -> np.ndarray:
    """Return six seconds of a room with knocks so far above its noise at `MOMENTS`."""
    sound = noise(6, ROOM, seed)
    for moment in MOMENTS:
        put(sound, knock(ROOM * 10 ** (above_db / 20)), moment)
    return sound


@pytest.mark.parametrize("rate_hz", [15.0, 30.0, 60.0])
@pytest.mark.parametrize("above_db", [15.0, 20.0, 30.0])
def test_knocks_are_found_to_five_milliseconds(tmp_path: Path, rate_hz: float, above_db: float) -> None:
    """Each knock once, at its moment, whatever the frame rate."""
    assert found(heard(tmp_path, knocks(above_db), rate_hz)) == pytest.approx(MOMENTS, abs=0.005)


def test_late_sound_has_its_knocks_late(tmp_path: Path) -> None:
    """Sound that starts 1.5 s after the picture has all its knocks 1.5 s later."""
    tracks = heard(tmp_path, knocks(20.0), seconds=8.0, from_s=1.5)
    assert found(tracks)[-4:] == pytest.approx([moment + 1.5 for moment in MOMENTS], abs=0.005)


@pytest.mark.parametrize("rate_hz", [48_000, 44_100, 16_000, 11_025])
def test_noise_alone_has_no_sudden_sound_at_any_rate(rate_hz: int) -> None:
    """Two minutes of even noise never rise by 10 dB."""
    ear = OnsetEar(rate_hz)
    random = np.random.default_rng(rate_hz)
    for _ in range(120):
        ear.hear(random.normal(0, 300, rate_hz))
    assert (ear.onsets().rise_db < 10).all()


def test_pieces_do_not_show() -> None:
    """A knock across the border of two pieces is one knock, at the sample where it begins."""
    rate_hz = 48_000
    sound = 32_768 * noise(70, ROOM)
    put(sound, 32_768 * knock(0.2), 60.0)
    ear = OnsetEar(rate_hz)
    for second in sound.reshape(-1, rate_hz):
        ear.hear(second)
    onsets = ear.onsets()
    assert onsets.moment_s[onsets.rise_db > 12] == pytest.approx([60.0], abs=0.003)
    assert onsets.fall_db[onsets.rise_db > 12].min() > 12
