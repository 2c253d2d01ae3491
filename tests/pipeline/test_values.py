"""A film that plays slower than life is measured in the seconds of life and told in the seconds of the film."""

from __future__ import annotations

import numpy as np
import pytest

from review.measures import measure
from review.pipeline.values import measured, traced
from tests.synthetic import clock, standing

SLOW = 4.0


def _swaying(times: np.ndarray) -> np.ndarray:
    return 12 * np.sin(2 * np.pi * 0.4 * times)


@pytest.mark.parametrize("name", ["postural_sway", "sway_velocity", "capture_frame_rate", "stance_width"])
def test_a_slowed_film_gives_the_numbers_of_the_same_film_at_full_speed(name: str) -> None:
    """The same frames stamped four times as far apart, and said to be so, give the same value and interval."""
    plain = standing(clock(30, 60.0), sway_px=_swaying, height_mm=1720)
    slowed = plain.assign_coords(time=("time", plain["time"].values * SLOW, plain["time"].attrs))
    slowed = slowed.assign_attrs(slow_motion=SLOW)
    for expected, found in zip(measured(plain, measure(name), "r"), measured(slowed, measure(name), "r"), strict=True):
        numbers = [expected.estimate.value, expected.estimate.low, expected.estimate.high]
        assert numbers[0] is not None
        assert [found.estimate.value, found.estimate.low, found.estimate.high] == pytest.approx(numbers, rel=1e-6)
        ends = [SLOW * end for part in expected.estimate.evidence for end in (part.onset_s, part.offset_s)]
        told = [end for part in found.estimate.evidence for end in (part.onset_s, part.offset_s)]
        assert told == pytest.approx(ends)


def test_a_trace_lies_on_the_clock_of_the_film() -> None:
    """The curve of a slowed film has the film's own times, so that it can be drawn under it."""
    slowed = standing(clock(10), stance=0.9).assign_attrs(slow_motion=SLOW)
    np.testing.assert_allclose(traced(slowed, measure("stance_width"))["time"].values, slowed["time"].values)
