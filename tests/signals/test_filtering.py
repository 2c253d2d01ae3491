"""Smoothing by time: what passes, what does not, and that gaps and uneven clocks do no harm."""

import numpy as np
import pytest

from review.signals.filtering import fill_gaps, low_pass, pieces, speed, spread_in_time
from tests.synthetic import clock, shaken


def sine(times: np.ndarray, frequency_hz: float) -> np.ndarray:
    """Return a sine of amplitude 1."""
    return np.sin(2 * np.pi * frequency_hz * times)


def middle_of(times: np.ndarray) -> np.ndarray:
    """Tell which samples are far from both ends."""
    return (times > 5) & (times < times[-1] - 5)


@pytest.mark.parametrize("rate_hz", [pytest.param(rate, id=f"{rate:g} Hz") for rate in (15.0, 30.0, 60.0)])
@pytest.mark.parametrize(
    ("frequency_hz", "gain"),
    [
        pytest.param(0.3, 1.0, id="slow sway passes"),
        pytest.param(2.0, np.sqrt(0.5), id="half the power at the cutoff"),
        pytest.param(7.0, 0.0, id="jitter does not"),
    ],
)
def test_gain_does_not_depend_on_the_frame_rate(rate_hz: float, frequency_hz: float, gain: float) -> None:
    """A cutoff in Hz means the same at every frame rate."""
    times = clock(60, rate_hz)
    kept = low_pass(times, sine(times, frequency_hz), 2.0)[middle_of(times)]
    assert np.sqrt(2) * kept.std() == pytest.approx(gain, abs=0.02)


def test_nothing_is_shifted_in_time() -> None:
    """The smoothed sine has its zero crossings where the sine has them."""
    times = clock(60)
    inside = middle_of(times)
    kept = low_pass(times, sine(times, 0.7), 2.0)[inside]
    assert np.abs(kept @ np.cos(2 * np.pi * 0.7 * times[inside])) / len(kept) < 1e-3


def test_uneven_clock_reads_as_the_even_one() -> None:
    """A clock whose steps vary by a third gives the same smooth curve at its own times."""
    times = shaken(clock(60))
    inside = middle_of(times)
    assert low_pass(times, sine(times, 0.3), 2.0)[inside] == pytest.approx(sine(times, 0.3)[inside], abs=0.02)


def test_straight_line_is_left_alone() -> None:
    """A drift passes unchanged, ends included."""
    times = clock(10)
    assert low_pass(times, 3 * times + 1, 2.0) == pytest.approx(3 * times + 1, abs=1e-5)


def test_missing_stays_missing() -> None:
    """Samples that are NaN stay so; a hole longer than the limit parts the curve without touching either part."""
    times = clock(20)
    values = np.where(times < 10, 0.0, 100.0)
    values[(times >= 9) & (times < 11)] = np.nan
    smooth = low_pass(times, values, 2.0)
    assert np.array_equal(np.isnan(smooth), np.isnan(values))
    assert smooth[times < 9] == pytest.approx(0.0)
    assert smooth[times >= 11] == pytest.approx(100.0)


@pytest.mark.parametrize(
    "seconds", [pytest.param(0.0, id="nothing"), pytest.param(0.1, id="three frames"), pytest.param(0.4, id="0.4 s")]
)
def test_too_short_for_the_cutoff_is_missing(seconds: float) -> None:
    """A run shorter than one period of the cutoff cannot be filtered by it."""
    times = clock(seconds)
    assert np.isnan(low_pass(times, np.ones_like(times), 2.0)).all()


def test_slow_clock_has_nothing_to_take_out() -> None:
    """Three looks a second hold nothing above 2 Hz, so the values stay as they are."""
    times = clock(10, 3.0)
    values = np.random.default_rng(0).normal(size=len(times))
    assert low_pass(times, values, 2.0, max_gap_s=0.5) == pytest.approx(values)


def test_gaps_are_filled_up_to_the_stated_length_only() -> None:
    """A gap of 0.2 s is bridged by a straight line, one of 0.3 s is left open, ends are never invented."""
    times = clock(1.0, 10.0)
    values = np.array([np.nan, 1.0, np.nan, 3.0, np.nan, np.nan, 6.0, 7.0, 8.0, np.nan])
    filled = fill_gaps(times, values, 0.2)
    assert filled[2] == pytest.approx(2.0)
    assert np.isnan(filled[[0, 4, 5, 9]]).all()
    assert np.isnan(values[2])


def test_pieces_part_at_long_gaps() -> None:
    """Known samples 0.1 s apart belong together, those 0.5 s apart do not."""
    values = np.array([1.0, 1.0, np.nan, 1.0, 1.0])
    found = pieces([0.0, 0.1, 0.2, 0.3, 0.8], values, 0.25)
    assert [run.tolist() for run in found] == [[0, 1, 3], [4]]
    assert pieces([0.0, 1.0], [np.nan, np.nan], 0.25) == ()


def test_speed_on_an_uneven_clock() -> None:
    """A line has its slope as speed whatever the steps; one sample has no speed."""
    times = shaken(clock(2))
    assert speed(times, 4 * times) == pytest.approx(4.0)
    assert np.isnan(speed([0.0], [1.0])).all()


def test_spreading_is_by_time() -> None:
    """A true sample reaches 0.15 s to both sides, however many frames that is."""
    assert spread_in_time([0.0, 0.1, 0.2, 0.3, 0.9], [0, 0, 1, 0, 0], 0.15).tolist() == [False, True, True, True, False]
