"""The sound of small films whose level, clipping and hum are known."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import av
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


def _film_with_sound(path: Path, samples: np.ndarray, rate_hz: int) -> dict[str, np.ndarray]:
    """Return what is heard of a film whose sound, shape ``(sample, channel)`` in -1 to 1, is kept at its own rate."""
    silent = make_film(path / "silent.mkv", THREE_SECONDS)
    film = path / "heard.mkv"
    with av.open(str(silent)) as source, av.open(str(film), "w") as out:
        seen = source.streams.video[0]
        picture = out.add_stream_from_template(seen)
        layout = "stereo" if samples.shape[1] == 2 else "mono"
        voice = out.add_stream("pcm_s16le", rate=rate_hz, layout=layout)
        whole = np.round(np.clip(samples, -1, 1) * 32_767).astype(np.int16)
        frame = av.AudioFrame.from_ndarray(whole.reshape(1, -1), "s16", layout)
        frame.sample_rate, frame.pts, frame.time_base = rate_hz, 0, Fraction(1, rate_hz)
        for packet in (*voice.encode(frame), *voice.encode(None)):
            out.mux(packet)
        for packet in source.demux(seen):
            if packet.dts is not None:
                packet.stream = picture
                out.mux(packet)
    tracks = sound_tracks(film, probe(film)[1], 128, 96)
    return {name: tracks[f"sound_{name}"].values for name in ("state", "level", "clipped", "hum")}


NEAR_THE_END = 10 ** (-0.5 / 20)


@pytest.mark.parametrize("loud_channel", [0, 1])
def test_clipping_on_one_of_two_channels_is_found(tmp_path: Path, loud_channel: int) -> None:
    """A sine that is cut off at the end of the scale on one channel alone is told with that channel's own share."""
    sine = np.sin(2 * np.pi * 440 * CLOCK)
    both = np.column_stack([0.1 * sine, 0.1 * sine])
    both[:, loud_channel] = 1.6 * sine
    share = np.mean(np.abs(1.6 * sine) >= NEAR_THE_END)
    found = _film_with_sound(tmp_path, both, SOUND_HZ)
    assert np.median(found["clipped"]) == pytest.approx(share, abs=0.01)
    assert share > 0.5


@pytest.mark.parametrize("ending", ["mp4", "mkv"], ids=["AAC", "Opus"])
def test_clipping_is_found_after_packing(tmp_path: Path, ending: str) -> None:
    """A packed sound has no sample left where it was cut off, and is still told from one that was not cut off."""
    loud = {}
    for gain in (0.8, 1.6):
        film = make_film(tmp_path / f"{gain}.{ending}", THREE_SECONDS, sound=gain * np.sin(2 * np.pi * 440 * CLOCK))
        loud[gain] = np.nanmedian(sound_tracks(film, probe(film)[1], 128, 96)["sound_clipped"].values)
    assert loud[0.8] == 0
    assert loud[1.6] > 0.05


@pytest.mark.parametrize("rate_hz", [48_000, 44_100, 22_050, 11_025])
def test_clipped_noise_is_counted_at_its_own_rate(tmp_path: Path, rate_hz: int) -> None:
    """Single samples of noise that are cut off are all counted, which a slower sampling would round off."""
    noise = np.random.default_rng(5).normal(0, 0.5, (3 * rate_hz, 1))
    share = np.mean(np.abs(noise) >= NEAR_THE_END)
    found = _film_with_sound(tmp_path, noise, rate_hz)
    assert (found["state"][:-1] == FOUND).all()
    assert np.nanmean(found["clipped"]) == pytest.approx(share, rel=0.05)


def test_a_loud_sound_below_the_end_of_the_scale_is_not_clipped(tmp_path: Path) -> None:
    """Noise that keeps within nine tenths of the scale has no clipped sample on any channel."""
    noise = np.random.default_rng(6).uniform(-0.9, 0.9, (3 * SOUND_HZ, 2))
    assert _film_with_sound(tmp_path, noise, SOUND_HZ)["clipped"].max() == 0


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
