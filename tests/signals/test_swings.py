"""Movements with a known height: found by a threshold, told from where they began."""

import numpy as np
import pytest

from review.signals.swings import swings

TIMES = np.arange(0, 10, 0.1)


def test_edges_lie_at_a_share_of_the_own_height() -> None:
    """A triangle from 2 to 6 s, 10 high: a fifth of its height is met 0.4 s after it began and before it ended."""
    curve = np.clip(10 - 5 * np.abs(TIMES - 4), 0, None)
    (run,) = swings(TIMES, curve, 8.0)
    assert (run.onset_s, run.offset_s) == pytest.approx((2.4, 5.6))


def test_two_movements_without_rest_between_part_at_the_lowest_point() -> None:
    """From 10 down to 5 at 5 s and up to 10 again: two movements, one ending where the other begins."""
    curve = np.interp(TIMES, [1, 3, 5, 7, 9], [0, 10, 5, 10, 0])
    one, other = swings(TIMES, curve, 8.0)
    assert one.offset_s == pytest.approx(other.onset_s) == pytest.approx(5.0)


def test_what_stays_below_the_threshold_is_none() -> None:
    """Seven high is no movement where eight is asked for, and neither is a film without values."""
    assert swings(TIMES, np.full(len(TIMES), 7.0), 8.0) == ()
    assert swings(TIMES, np.full(len(TIMES), np.nan), 8.0) == ()
