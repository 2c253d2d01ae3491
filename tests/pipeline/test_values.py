"""A film that plays slower than life is measured in the seconds of life and told in the seconds of the film."""

from __future__ import annotations

import numpy as np
import pytest

from review.checklists import shipped
from review.domain.checklist_file import read_checklist
from review.domain.model import Interval
from review.measures import measure
from review.pipeline.values import film_values, interval_values, measured, paced, traced
from tests.synthetic import clock, standing
from tests.synthetic_sound import noise, put, speech_tracks, voiced, whispered

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


def test_a_stretch_is_compared_with_the_whole_film() -> None:
    """A whisper's seconds hold no voice to compare with: the film's is taken, as slow as it may play."""
    sound = noise(14, 0.002)
    put(sound, voiced(6, 0.06), 1.0)
    put(sound, whispered(2, 0.02), 10.0)
    step = read_checklist(shipped("neuro_screening")).step("cn8_whisper")
    for slow in (1.0, SLOW):
        film = paced(speech_tracks(sound), slow).assign_attrs(slow_motion=slow)
        values = interval_values(film, step, "right", Interval(9 * slow, 13 * slow), "r")
        told = {value.measure: value.estimate.value for value in values}
        assert told["whisper_level"] == pytest.approx(20 * np.log10(0.02 / 0.06), abs=1.5)
    whole = [value.estimate.value for value in film_values(film, "r") if value.measure == "whisper_level"]
    assert whole == pytest.approx([told["whisper_level"]], abs=0.5)
