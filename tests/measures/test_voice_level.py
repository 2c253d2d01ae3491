"""Speech and whispers of made sound: told apart, levelled, refused where the sound carries nothing."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
import xarray as xr

from review.capture.loudness import sound_tracks
from review.capture.probe import probe
from review.domain.model import Estimate, Reason
from review.domain.tracks import empty_tracks
from review.measures import measure
from tests.films import even_times, make_film
from tests.synthetic_sound import heard, noise, put, voiced, whispered

ROOM = 0.003


def said(tracks: xr.Dataset, name: str = "whispered_share") -> Estimate:
    """Return what a measure of the voice says of these tracks."""
    of = measure(name)
    (estimate,) = of.summarise(of.trace(tracks))
    return estimate


def kinds(tracks: xr.Dataset) -> list[str]:
    """Return the kinds of the stretches of speech, in order."""
    of = measure("whispered_share")
    return [event.kind for event in of.events(of.trace(tracks))]


def talk(level_db: float = 20.0, room: float = ROOM) -> np.ndarray:
    """Return two seconds spoken from 2 s and two seconds whispered from 6 s, so far above the noise of the room."""
    sound = noise(10, room)
    put(sound, voiced(2, room * 10 ** (level_db / 20)), 2.0)
    put(sound, whispered(2, room * 10 ** (level_db / 20)), 6.0)
    return sound


@pytest.mark.parametrize("rate_hz", [15.0, 30.0, 60.0])
def test_whisper_and_voice_are_told_apart_with_their_seconds(tmp_path: Path, rate_hz: float) -> None:
    """Half is whispered, at any frame rate; the stretches begin and end within 0.15 s of the truth."""
    tracks = heard(tmp_path, talk(), rate_hz)
    share = said(tracks)
    assert share.value == pytest.approx(0.5, abs=0.04)
    assert share.low <= 0.5 <= share.high
    of = measure("whispered_share")
    events = of.events(of.trace(tracks))
    assert [event.kind for event in events] == ["voiced", "whispered"]
    edges = [edge for event in events for edge in (event.interval.onset_s, event.interval.offset_s)]
    assert edges == pytest.approx([2.0, 4.0, 6.0, 8.0], abs=0.15)


@pytest.mark.parametrize("seed", range(5))
def test_forty_utterances_are_told_right(tmp_path: Path, seed: int) -> None:
    """Eight utterances of each of five runs of random pitch and noise at 20 dB: every one is of its kind."""
    random = np.random.default_rng(seed)
    order = random.permutation([0, 1] * 4)
    sound = noise(18, ROOM, seed)
    for number, quiet in enumerate(order):
        made = (
            whispered(1.0, 10 * ROOM, seed * 10 + number)
            if quiet
            else voiced(1.0, 10 * ROOM, random.uniform(85, 260), seed * 10 + number)
        )
        put(sound, made, 1 + 2 * number)
    assert kinds(heard(tmp_path, sound)) == ["whispered" if quiet else "voiced" for quiet in order]


@pytest.mark.parametrize("gain", [0.1, 1.0, 8.0])
def test_gain_of_the_recording_changes_nothing(tmp_path: Path, gain: float) -> None:
    """The level is one above the film's own background, and a whisper stays one."""
    sound = talk()
    plain, louder = heard(tmp_path, sound), heard(tmp_path, gain * sound)
    assert said(louder, "voice_level").value == pytest.approx(said(plain, "voice_level").value, abs=0.5)
    assert said(louder).value == pytest.approx(said(plain).value, abs=0.03)


def test_level_follows_the_voice(tmp_path: Path) -> None:
    """Ten dB more of the voice are ten dB more of the value."""
    low, high = (said(heard(tmp_path, talk(level)), "voice_level") for level in (18.0, 28.0))
    assert high.value - low.value == pytest.approx(10.0, abs=0.7)
    assert low.low < low.value < low.high


def test_level_counts_the_time_before_a_late_sound_not_as_background(tmp_path: Path) -> None:
    """Sound that starts 2 s late has the level it has without the delay, and its stretches 2 s later."""
    at_once, late = heard(tmp_path, talk()), heard(tmp_path, talk(), seconds=12.0, from_s=2.0)
    assert said(late, "voice_level").value == pytest.approx(said(at_once, "voice_level").value, abs=0.5)
    of = measure("voice_level")
    assert [event.interval.onset_s for event in of.events(of.trace(late))] == pytest.approx([4.0, 8.0], abs=0.15)


@pytest.mark.parametrize("seed", range(4))
def test_noise_alone_holds_no_speech(tmp_path: Path, seed: int) -> None:
    """White noise, and noise that falls with the frequency, are nobody speaking."""
    white = noise(10, ROOM, seed)
    brown = np.cumsum(noise(10, 0.0002, seed + 50))
    for sound in (white, brown - np.convolve(brown, np.ones(4800) / 4800, "same")):
        tracks = heard(tmp_path, sound)
        assert kinds(tracks) == []
        assert (said(tracks).value, said(tracks).reasons[0]) == (None, Reason.NOT_HEARD)


def test_knock_is_no_whisper(tmp_path: Path) -> None:
    """A loud noise of a tenth of a second is too short for speech."""
    sound = noise(6, ROOM)
    put(sound, noise(0.1, 20 * ROOM, 9), 3.0)
    assert kinds(heard(tmp_path, sound)) == []


def test_clipped_sound_is_refused(tmp_path: Path) -> None:
    """Speech cut off at the end of the scale has neither a level nor a whispered share."""
    tracks = heard(tmp_path, np.clip(30 * talk(30.0), -1.1, 1.1))
    for name in ("voice_level", "whispered_share"):
        assert (said(tracks, name).value, said(tracks, name).reasons[0]) == (None, Reason.SOUND_CLIPPED)


def test_speech_drowned_in_noise_is_refused(tmp_path: Path) -> None:
    """A voice below the room is neither told to be speech nor denied."""
    estimate = said(heard(tmp_path, talk(-6.0)[: 4 * 48_000]))
    assert (estimate.value, estimate.reasons[0]) == (None, Reason.SOUND_NOISY)


def test_film_without_sound_is_refused(tmp_path: Path) -> None:
    """No sound and not heard yet are told apart."""
    assert said(heard(tmp_path, None, seconds=2.0)).reasons == (Reason.NO_SOUND,)
    assert said(empty_tracks(even_times(60), 128, 96)).reasons == (Reason.NOT_LOOKED,)


@pytest.mark.parametrize("rate_hz", [48_000, 44_100, 16_000])
def test_sampling_rate_changes_nothing(tmp_path: Path, rate_hz: int) -> None:
    """The same talk sampled at other rates has the same stretches and level."""
    slow = _sampled(tmp_path / f"{rate_hz}.wav.mkv", talk(), rate_hz)
    plain = heard(tmp_path, talk())
    assert kinds(slow) == kinds(plain)
    assert said(slow, "voice_level").value == pytest.approx(said(plain, "voice_level").value, abs=1.0)


def _sampled(film: Path, sound: np.ndarray, rate_hz: int) -> xr.Dataset:
    """Return the tracks of a film whose sound is kept unpacked at this rate."""
    silent = make_film(film.with_suffix(".mp4"), even_times(300))
    resampler = av.AudioResampler(format="s16", layout="mono", rate=rate_hz)
    whole = np.round(np.clip(sound, -1, 1) * 32_000).astype(np.int16).reshape(1, -1)
    frame = av.AudioFrame.from_ndarray(whole, "s16", "mono")
    frame.sample_rate, frame.pts, frame.time_base = 48_000, 0, Fraction(1, 48_000)
    with av.open(str(silent)) as source, av.open(str(film), "w") as out:
        seen = source.streams.video[0]
        picture = out.add_stream_from_template(seen)
        voice = out.add_stream("pcm_s16le", rate=rate_hz, layout="mono")
        for part in [*resampler.resample(frame), *resampler.resample(None)]:
            for packet in voice.encode(part):
                out.mux(packet)
        for packet in source.demux(seen):
            if packet.dts is not None:
                packet.stream = picture
                out.mux(packet)
    return sound_tracks(film, probe(film)[1], 128, 96)
