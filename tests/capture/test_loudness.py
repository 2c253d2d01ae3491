"""The sound of small films whose level, clipping and hum are known."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from review.capture.loudness import hum_share, sound_tracks
from review.capture.probe import probe
from review.domain.tracks import FOUND, NOT_FOUND
from tests.films import SOUND_HZ, even_times, make_film

THREE_SECONDS = even_times(90)
CLOCK = np.arange(3 * SOUND_HZ) / SOUND_HZ


def heard(path: Path, sound: np.ndarray | None, from_s: float = 0.0) -> dict[str, np.ndarray]:
    """Return state, level, clipped share and hum at every frame of a three-second film with this sound."""
    film = make_film(path / "heard.mkv", THREE_SECONDS, sound=sound, sound_from_s=from_s)
    tracks = sound_tracks(film, probe(film)[1], 128, 96)
    return {name: tracks[f"sound_{name}"].values for name in ("state", "level", "clipped", "hum")}


def test_a_tone_has_its_level_and_no_hum(tmp_path: Path) -> None:
    """A sine of a tenth of full scale lies at -20 dB; nothing of it is clipped, nothing is hum."""
    found = heard(tmp_path, 0.1024 * np.sin(2 * np.pi * 1000 * CLOCK))
    assert np.median(found["level"]) == pytest.approx(-20.0, abs=0.5)
    assert found["clipped"].max() == 0
    assert np.median(found["hum"]) < 0.02


@pytest.mark.parametrize("mains_hz", [50, 60])
def test_mains_hum_under_a_tone_is_its_share_of_the_power(mains_hz: int) -> None:
    """Equal powers at a mains' second harmonic and at 1 kHz make a share of one half."""
    time_s = np.arange(16_000) / 16_000
    both = np.sin(2 * np.pi * 2 * mains_hz * time_s) + np.sin(2 * np.pi * 1000 * time_s)
    assert hum_share(both, 16_000) == pytest.approx(0.5, abs=0.01)


def test_a_square_wave_at_the_end_of_the_scale_is_clipped(tmp_path: Path) -> None:
    """A 100 Hz square wave at full scale stays at the end of the scale for most of its samples."""
    found = heard(tmp_path, 1.024 * np.sign(np.sin(2 * np.pi * 100 * CLOCK)))
    assert np.median(found["clipped"]) > 0.3


def test_late_sound_is_silence_first_and_ended_sound_is_not_there(tmp_path: Path) -> None:
    """Sound from 1.0 to 2.0 s: nothing to hear before it, and no sound after it."""
    found = heard(tmp_path, 0.5 * np.sin(2 * np.pi * 1000 * CLOCK[:SOUND_HZ]), from_s=1.0)
    frames = np.array(THREE_SECONDS)
    assert found["level"][frames < 0.9].max() < -60
    assert np.median(found["level"][(frames > 1.1) & (frames < 1.9)]) == pytest.approx(-6.0, abs=0.7)
    assert (found["state"][frames < 1.9] == FOUND).all()
    assert (found["state"][frames > 2.2] == NOT_FOUND).all()


def test_a_film_without_sound_says_so_at_every_frame(tmp_path: Path) -> None:
    """Looked for and not found, and no number."""
    found = heard(tmp_path, None)
    assert (found["state"] == NOT_FOUND).all()
    assert np.isnan(found["level"]).all()
