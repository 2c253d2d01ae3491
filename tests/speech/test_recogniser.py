"""Words come of speech alone, and of this machine alone."""

from __future__ import annotations

import socket

import numpy as np
import numpy.typing as npt
import pytest
from scipy import signal

from review.speech.recogniser import RATE_HZ, recognise, voice_activity
from tests.films import SOUND_HZ
from tests.speech.spoken import spoken
from tests.synthetic_sound import knock, noise, put

SECONDS = 12.0


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
    [np.zeros(round(SECONDS * SOUND_HZ)), noise(SECONDS, 0.0005), noise(SECONDS, 0.1), _music(), _room()],
    ids=["silence", "faint noise", "loud noise", "music", "a room"],
)
def test_what_is_no_speech_becomes_no_words(sound: npt.NDArray[np.float64]) -> None:
    """Neither silence nor noise nor music nor a room is written down as anything."""
    assert recognise(_resampled(sound)) == ()


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
