"""Where the sound is cut: at pauses, into stretches that the recogniser hears at once."""

import numpy as np
import pytest

from review.domain.tracks import FOUND, NOT_FOUND, empty_tracks
from review.pipeline.hearing import listening_chunks, pauses

RATE_HZ = 30.0


@pytest.mark.parametrize("seconds", [0.5, 20.0, 31.0, 75.0, 600.0])
def test_stretches_cover_the_film_and_none_is_longer_than_the_recogniser_hears(seconds: float) -> None:
    """Whatever the length, stretches touch each other, and last 30 s at most."""
    times = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    level = np.random.default_rng(7).uniform(0, 30, len(times))
    cut = pauses(times, level)
    assert [cut[0][0], *(stop for _, stop in cut)] == [*(first for first, _ in cut), len(times)]
    assert all(times[stop - 1] - times[first] <= 34 for first, stop in cut)


def test_cuts_lie_in_pauses() -> None:
    """Speech all the time but for half a second at 19 s: the cut aimed at 22 s lies there."""
    times = np.arange(round(44 * RATE_HZ)) / RATE_HZ
    level = np.where((times > 19.0) & (times < 19.6), 0.0, 25.0)
    ((_, cut), _) = pauses(times, level)
    assert 19.0 < times[cut] < 19.6


def test_a_short_dip_is_no_pause() -> None:
    """A tenth of a second between two syllables is passed over for the pause further away."""
    times = np.arange(round(44 * RATE_HZ)) / RATE_HZ
    dip, pause = (times > 22.0) & (times < 22.1), (times > 25.0) & (times < 25.6)
    ((_, cut), _) = pauses(times, np.where(dip | pause, 0.0, 25.0))
    assert 25.0 < times[cut] < 25.6


def test_a_film_without_sound_is_not_listened_to() -> None:
    """No unit of work is made where there is nothing to hear, and each carries its model's name."""
    times = np.arange(900) / RATE_HZ
    tracks = empty_tracks(times, 128, 96)
    tracks["sound_state"].values[:] = NOT_FOUND
    assert listening_chunks(tracks) == ()
    tracks["sound_state"].values[:] = FOUND
    assert [(chunk.key, chunk.hears, chunk.frames) for chunk in listening_chunks(tracks)] == [("words:0-900", True, 0)]
    assert listening_chunks(tracks, "abc")[0].key == "words@abc:0-900"
