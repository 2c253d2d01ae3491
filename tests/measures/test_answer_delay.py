"""Silence between a whisper and its answer, in made sound with known moments."""

from __future__ import annotations

from pathlib import Path

import pytest
import xarray as xr

from review.domain.model import Estimate, Reason
from review.domain.tracks import empty_tracks
from review.measures import measure
from review.measures.answer_delay import LONGEST_S
from tests.films import even_times
from tests.synthetic_sound import heard, noise, put, speech_tracks, voiced, whispered

ROOM = 0.002
MADE = {"whisper": whispered, "voice": voiced}


def told(tracks: xr.Dataset) -> tuple[Estimate, list[float]]:
    """Return what is said of the delay, and when each silence ends."""
    of = measure("answer_delay")
    trace = of.trace(tracks)
    (estimate,) = of.summarise(trace)
    assert of.events is not None
    return estimate, [event.interval.offset_s for event in of.events(trace)]


def talk(*parts: tuple[str, float], rate_hz: float = 30.0, seconds: float = 16.0) -> xr.Dataset:
    """Return a film with 1.1 s of whisper or voice from each moment on."""
    sound = noise(seconds, ROOM)
    for kind, at_s in parts:
        put(sound, MADE[kind](1.1, (8 if kind == "whisper" else 25) * ROOM), at_s)
    return speech_tracks(sound, rate_hz)


@pytest.mark.parametrize("rate_hz", [15.0, 30.0])
@pytest.mark.parametrize("delay_s", [0.5, 1.0, 2.6])
def test_delay_is_that_of_the_voice_after_the_whisper(delay_s: float, rate_hz: float) -> None:
    """From the end of the whisper to the onset of the answer within 0.1 s, which the interval holds."""
    said, ends = told(talk(("whisper", 3.0), ("voice", 4.1 + delay_s), rate_hz=rate_hz))
    assert said.value == pytest.approx(delay_s, abs=0.1)
    assert said.low - 0.05 <= delay_s <= said.high + 0.05
    assert ends == pytest.approx([4.1 + delay_s], abs=0.1)


def test_an_answer_at_once_is_a_short_silence() -> None:
    """A pause shorter than those within speech is still told, as less than half a second."""
    said, _ = told(talk(("whisper", 3.0), ("voice", 4.25)))
    assert said.value == pytest.approx(0.15, abs=0.12)


def test_of_several_answers_the_median_is_told_and_each_is_shown() -> None:
    """Two sets and an announcement before them: two silences; the one before the second whisper is none."""
    parts = [("voice", 0.6), ("whisper", 3.0), ("voice", 4.9), ("whisper", 8.0), ("voice", 10.3)]
    said, ends = told(talk(*parts))
    assert said.value == pytest.approx(1.0, abs=0.1)
    assert ends == pytest.approx([4.9, 10.3], abs=0.1)


def test_voices_alone_cannot_be_told_apart() -> None:
    """Question and answer both aloud have no number, and the reason says why."""
    said, ends = told(talk(("voice", 3.0), ("voice", 6.0)))
    assert (said.value, said.reasons[0], ends) == (None, Reason.SPEAKERS_ALIKE, [])


def test_whisper_without_answer() -> None:
    """Nothing said after it, or only long after it, is no answer."""
    for parts in ([("whisper", 3.0)], [("whisper", 2.0), ("voice", 3.3 + LONGEST_S)]):
        said, ends = told(talk(*parts))
        assert (said.value, said.reasons[0], ends) == (None, Reason.NO_ANSWER, [])


def test_nothing_to_hear_is_refused(tmp_path: Path) -> None:
    """A quiet room, no sound and not looked at yet are told apart."""
    assert told(talk(seconds=6.0))[0].reasons[0] == Reason.NOT_HEARD
    assert told(heard(tmp_path, None, seconds=2.0))[0].reasons == (Reason.NO_SOUND,)
    assert told(empty_tracks(even_times(60), 128, 96))[0].reasons == (Reason.NOT_LOOKED,)
