"""Whispers against the voices of the same film, in made sound of known levels."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from review.domain.model import Estimate, Reason
from review.domain.tracks import cut, empty_tracks
from review.measures import measure
from review.measures.whisper_level import usual_voice
from tests.films import even_times
from tests.synthetic_sound import heard, noise, put, speech_tracks, voiced, whispered

ROOM = 0.002
VOICE = 30 * ROOM


def told(film: xr.Dataset, onset_s: float, offset_s: float) -> Estimate:
    """Return what is said of some seconds of a film."""
    of = measure("whisper_level")
    assert of.of_film is not None
    (estimate,) = of.summarise(of.trace(cut(film.assign_attrs(of.of_film(film)), onset_s, offset_s)))
    return estimate


def film_of(below_db: float, voices_db: tuple[float, ...] = (0.0, 0.0), gain: float = 1.0) -> xr.Dataset:
    """Return a film with four seconds of voice at each level and, from 12 s, a whisper below the first of them."""
    sound = noise(16, ROOM)
    for number, level_db in enumerate(voices_db):
        put(sound, voiced(4, VOICE * 10 ** (level_db / 20), 110 + 60 * number), 1 + 5.5 * number)
    put(sound, whispered(2, VOICE * 10 ** (-below_db / 20)), 12.5)
    return speech_tracks(gain * sound)


@pytest.mark.parametrize("below_db", [0.0, 8.0, 16.0])
def test_level_below_the_voice_is_told(below_db: float) -> None:
    """A whisper so many decibels under an even voice reads so, within 1.5 dB."""
    said = told(film_of(below_db), 11.5, 15.5)
    assert said.value == pytest.approx(-below_db, abs=1.5)
    assert said.low <= said.value <= said.high
    assert [part.onset_s for part in said.evidence] == pytest.approx([12.5], abs=0.15)


def test_gain_changes_nothing() -> None:
    """The level is one against the same film."""
    first, second = (told(film_of(8.0, gain=gain), 11.5, 15.5) for gain in (0.2, 8.0))
    assert first.value == pytest.approx(second.value, abs=0.3)


def test_interval_reaches_over_both_voices() -> None:
    """Of two voices 8 dB apart either may be the whisperer's: both differences lie in the interval."""
    said = told(film_of(10.0, (0.0, -8.0)), 11.5, 15.5)
    assert said.low == pytest.approx(-10.0, abs=1.5)
    assert said.high == pytest.approx(-2.0, abs=1.5)


def test_no_whisper_has_no_level() -> None:
    """In seconds that are spoken aloud no whisper was heard."""
    said = told(film_of(8.0), 0.0, 6.0)
    assert (said.value, said.reasons[0]) == (None, Reason.NO_WHISPER)


def test_a_film_without_voices_has_nothing_to_compare_with() -> None:
    """Four seconds of voice are too few, and a stretch alone tells nothing of the film."""
    said = told(film_of(8.0, (0.0,)), 11.5, 15.5)
    assert (said.value, said.reasons[0]) == (None, Reason.NO_USUAL_VOICE)
    assert usual_voice(empty_tracks(even_times(60), 64, 48)) == {}


def test_no_sound_and_not_looked_at_are_told_apart(tmp_path: Path) -> None:
    """Neither has a number, each its own reason."""
    assert told(heard(tmp_path, None, seconds=2.0), 0.0, 2.0).reasons == (Reason.NO_SOUND,)
    assert told(empty_tracks(np.array(even_times(60)), 128, 96), 0.0, 2.0).reasons == (Reason.NOT_LOOKED,)
