"""Words come of speech alone, and of this machine alone."""

from __future__ import annotations

import socket
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from faster_whisper import WhisperModel
from scipy import signal

from review.speech import recogniser
from review.speech.guards import Passage
from review.speech.recogniser import RATE_HZ, recognise, recognise_twice, voice_activity
from tests.films import SOUND_HZ
from tests.speech.spoken import spoken
from tests.synthetic_sound import knock, noise, put

SECONDS = 12.0
HINTS = "pupils are equal and round. romberg is negative. biceps two plus. no nystagmus. uvula is midline"


def _resampled(sound: npt.NDArray[np.float64]) -> npt.NDArray[np.float32]:
    return signal.resample_poly(sound, RATE_HZ, SOUND_HZ).astype(np.float32)


def _music() -> npt.NDArray[np.float64]:
    """Return plucked chords, a new one every half second."""
    time_s = np.arange(round(SECONDS * SOUND_HZ)) / SOUND_HZ
    roots = (220.0, 261.6, 293.7, 196.0)
    root = np.array(roots)[(time_s / 0.5).astype(int) % len(roots)]
    phase = np.cumsum(root) / SOUND_HZ
    chord = sum(np.sin(2 * np.pi * ratio * phase) / (1 + at) for at, ratio in enumerate((1, 1.25, 1.5, 2, 3)))
    return 0.1 * chord * np.exp(-3 * (time_s % 0.5))


def _melody() -> npt.NDArray[np.float64]:
    """Return one flute-like line with a tremble, a note every 0.4 s, within the pitch of voices."""
    time_s = np.arange(round(SECONDS * SOUND_HZ)) / SOUND_HZ
    notes = np.array((262.0, 294.0, 330.0, 294.0, 392.0, 349.0))[(time_s / 0.4).astype(int) % 6]
    phase = np.cumsum(notes * (1 + 0.01 * np.sin(2 * np.pi * 5 * time_s))) / SOUND_HZ
    line = sum(np.sin(2 * np.pi * ratio * phase) / ratio**2 for ratio in (1, 2, 3, 4))
    return 0.2 * line * np.minimum(1, 8 * (time_s % 0.4)) * np.exp(-2 * (time_s % 0.4))


def _drums() -> npt.NDArray[np.float64]:
    """Return a beat of a low drum, a sharp one and a hiss."""
    sound = noise(SECONDS, 0.0005)
    for beat in range(round(SECONDS / 0.25) - 1):
        made = noise(0.08, 0.1, beat) * np.exp(-np.arange(round(0.08 * SOUND_HZ)) / (0.02 * SOUND_HZ))
        put(sound, knock(0.3, 60.0) if beat % 4 == 0 else knock(0.2, 220.0) if beat % 4 == 2 else made, 0.25 * beat)
    return sound


def _vacuum_cleaner() -> npt.NDArray[np.float64]:
    """Return the whine of a motor that is moved to and fro, with its harmonics and the rush of air."""
    time_s = np.arange(round(SECONDS * SOUND_HZ)) / SOUND_HZ
    phase = np.cumsum(310 * (1 + 0.03 * np.sin(2 * np.pi * 0.4 * time_s))) / SOUND_HZ
    whine = sum(np.sin(2 * np.pi * ratio * phase) / ratio for ratio in (1, 2, 3, 5))
    air = signal.lfilter(*signal.butter(2, (300, 4000), "bandpass", fs=SOUND_HZ), noise(SECONDS, 0.2))
    return 0.05 * whine + air


def _hum() -> npt.NDArray[np.float64]:
    """Return mains hum with its harmonics alone."""
    time_s = np.arange(round(SECONDS * SOUND_HZ)) / SOUND_HZ
    return 0.1 * sum(np.sin(2 * np.pi * 60 * ratio * time_s) / ratio for ratio in (1, 2, 3, 4, 5))


def _room() -> npt.NDArray[np.float64]:
    """Return a room: low rumble, mains hum, and something that falls now and then."""
    rumble = signal.lfilter([1], [1, -0.98], noise(SECONDS, 0.002))
    hum = 0.01 * np.sin(2 * np.pi * 50 * np.arange(len(rumble)) / SOUND_HZ)
    sound = rumble + hum
    for at_s in (2.0, 5.3, 9.1):
        put(sound, knock(0.2), at_s)
    return sound


@pytest.mark.parametrize(
    "sound",
    [
        *(np.zeros(round(SECONDS * SOUND_HZ)), noise(SECONDS, 0.0005), noise(SECONDS, 0.1), _music(), _room()),
        *(_melody(), _drums(), _vacuum_cleaner(), _hum()),
    ],
    ids=["silence", "faint noise", "loud noise", "music", "a room", "a melody", "drums", "a vacuum cleaner", "hum"],
)
def test_what_is_no_speech_becomes_no_words(sound: npt.NDArray[np.float64]) -> None:
    """Neither silence nor noise nor music nor a room is written down as anything, also by who expects phrases."""
    assert recognise_twice(_resampled(sound), HINTS) == ((), ())


def test_speech_that_became_no_word_is_listened_to_again_without_haste(monkeypatch: pytest.MonkeyPatch) -> None:
    """What the brief look loses, here all, is looked at as the recogniser was made for, and its words are there."""
    looked: list[bool] = []
    heard = recogniser._passages

    def lossy(model: Any, samples: Any, speech: Any, brief: bool = True) -> list[Passage]:
        looked.append(brief)
        return [] if brief else heard(model, samples, speech, brief)

    monkeypatch.setattr(recogniser, "_passages", lossy)
    columns: list[int] = []
    encode = WhisperModel.encode

    def watched(self: Any, features: npt.NDArray[np.float32]) -> Any:
        columns.append(features.shape[-1])
        return encode(self, features)

    monkeypatch.setattr(WhisperModel, "encode", watched)
    words = recognise(spoken(RATE_HZ).astype(np.float32))
    assert "negative" in " ".join(word.text.lower() for word in words)
    assert set(columns) == {3000}, "hundredths of a second"
    assert looked == [True, False]


def test_nothing_to_hear_has_no_words() -> None:
    """A stretch behind the end of the sound is empty."""
    assert recognise(np.empty(0, np.float32)) == ()


def test_no_network_is_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    """With every socket refused, voice activity and the model do their work."""

    def refused(*args: object, **more: object) -> None:
        raise AssertionError("a socket was opened")

    monkeypatch.setattr(socket, "socket", refused)
    monkeypatch.setattr(socket, "create_connection", refused)
    assert voice_activity(_resampled(noise(SECONDS, 0.1))) == []


def test_a_voice_becomes_words_with_times_and_confidence() -> None:
    """Plain words of the voice are all there, in order, each with its time."""
    words = recognise(spoken(RATE_HZ).astype(np.float32))
    text = " ".join(word.text.lower().strip(",.") for word in words)
    for heard in ("equal and round", "is negative", "on the right"):
        assert heard in text
    assert [word.onset_s for word in words] == sorted(word.onset_s for word in words)
    assert all(word.onset_s <= word.offset_s <= 7 for word in words)


def _in_noise(share: float) -> npt.NDArray[np.float32]:
    voice = spoken(RATE_HZ).astype(np.float32)
    return voice + np.random.default_rng(5).normal(0, share * voice.std(), len(voice)).astype(np.float32)


def test_only_what_is_doubtful_is_listened_to_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """The plain voice is not surely heard (0.82): the second time, with the hints in mind, words of the trade come."""
    sound = spoken(RATE_HZ).astype(np.float32)
    words, again = recognise_twice(sound, HINTS)
    assert words == recognise(sound)
    text = " ".join(word.text.lower().strip(",.") for word in again)
    for said in ("romberg is negative", "biceps two plus", "no nystagmus"):
        assert said in text
    assert [word.onset_s for word in again] == sorted(word.onset_s for word in again)
    assert all(word.onset_s <= word.offset_s <= len(sound) / RATE_HZ + 0.2 for word in again)
    monkeypatch.setattr(recogniser, "_SURE", 0.8)
    assert recognise_twice(sound, HINTS) == (words, ())


def test_without_hints_nothing_is_listened_to_again() -> None:
    """However doubtful it is."""
    assert recognise_twice(_in_noise(0.5), "")[1] == ()


def test_what_is_only_hinted_at_is_not_likely() -> None:
    """In noise the hints come back where nobody said them, and the words that tell have next to no confidence."""
    _, again = recognise_twice(_in_noise(1.0), HINTS)
    made_up = [word for word in again if word.text.lower().strip(",.") in {"biceps", "nystagmus", "romberg", "uvula"}]
    assert made_up
    assert max(word.confidence for word in made_up) < 0.1
