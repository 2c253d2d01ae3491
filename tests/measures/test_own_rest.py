"""Rest: the value kept longest, the ends of a short stretch counting more."""

import numpy as np
import pytest

from review.measures.own_rest import resting_value

TIMES = np.arange(0, 4, 0.1)


def test_a_movement_held_for_most_of_a_stretch_is_no_rest() -> None:
    """Half a second at 2 before and after three seconds at 9."""
    values = np.where((TIMES < 0.5) | (TIMES > 3.4), 2.0, 9.0)
    assert resting_value(TIMES, values, 0.5) == pytest.approx(2.0, abs=0.03)


def test_in_a_long_film_the_ends_hardly_matter() -> None:
    """A minute at 2 with half a second at 9 at both ends."""
    times = np.arange(0, 60, 0.1)
    assert resting_value(times, np.where((times < 0.5) | (times > 59.4), 9.0, 2.0), 0.5) == pytest.approx(2, abs=0.03)


def test_what_is_not_likely_rest_does_not_count() -> None:
    """Samples known to be no rest are left out, unless there are no others."""
    values = np.where(TIMES < 2, 9.0, 2.0)
    assert resting_value(TIMES, values, 0.5, (TIMES >= 2).astype(float)) == pytest.approx(2.0, abs=0.03)
    assert np.isfinite(resting_value(TIMES, values, 0.5, 0.0))


def test_dropped_frames_do_not_move_rest() -> None:
    """Each sample counts for the time it stands for: every second frame lost at 2 leaves it the rest."""
    kept = (TIMES < 1) | (TIMES > 3) | (np.arange(len(TIMES)) % 2 == 0)
    values = np.where((TIMES > 1) & (TIMES < 3), 2.0, 9.0 + 10 * TIMES)
    assert resting_value(TIMES[kept], values[kept], 0.2) == pytest.approx(2.0, abs=0.03)


def test_rest_of_nothing_is_unknown() -> None:
    """No sample, no rest."""
    assert np.isnan(resting_value(TIMES, np.full(len(TIMES), np.nan), 1.0))
