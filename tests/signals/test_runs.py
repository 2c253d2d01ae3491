"""Stretches on an irregular clock."""

import numpy as np
import pytest

from review.signals.runs import Run, runs_above, true_runs

UNEVEN = np.array([0.0, 0.1, 0.25, 0.3, 0.9, 1.0])


def edges(runs: tuple[Run, ...]) -> list[tuple[float, float]]:
    """Onsets and offsets alone."""
    return [(run.onset_s, run.offset_s) for run in runs]


def test_edges_are_the_times_of_the_true_samples_whatever_the_spacing():
    """Flags carry no more than the times of their samples."""
    assert edges(true_runs(UNEVEN, [1, 1, 0, 1, 1, 0])) == [(0.0, 0.1), (0.3, 0.9)]


def test_samples_are_those_that_meet_the_condition():
    """Indices and slice name exactly the true samples."""
    (run,) = true_runs(UNEVEN, [0, 1, 1, 1, 0, 0])
    assert (run.first, run.last) == (1, 3)
    assert list(UNEVEN[run.samples]) == [0.1, 0.25, 0.3]
    assert run.duration_s == pytest.approx(0.2)


@pytest.mark.parametrize("flags", [[], [0, 0], [np.nan, np.nan]], ids=["empty", "never", "unknown"])
def test_nothing_true_gives_no_stretch(flags: list[float]):
    """Neither absence nor ignorance makes a stretch."""
    assert true_runs(np.arange(len(flags)), flags) == ()


def test_unknown_splits_a_stretch_unless_bridged():
    """A NaN is not true, and a short one may be bridged."""
    flags = [1, 1, np.nan, 1, 0, 0]
    assert edges(true_runs(UNEVEN, flags)) == [(0.0, 0.1), (0.3, 0.3)]
    assert edges(true_runs(UNEVEN, flags, bridge_s=0.21)) == [(0.0, 0.3)]


def test_a_bridge_is_measured_in_seconds_not_in_samples():
    """One sample's gap of 0.65 s is too long for a bridge of 0.5 s."""
    assert len(true_runs(UNEVEN, [0, 0, 1, 0, 1, 1], bridge_s=0.5)) == 2
    assert len(true_runs(UNEVEN, [0, 0, 1, 0, 1, 1], bridge_s=0.65)) == 1


def test_short_stretches_are_left_out_after_bridging():
    """Two halves too short alone count once joined."""
    flags = [1, 0, 1, 0, 0, 1]
    assert edges(true_runs(UNEVEN, flags, min_s=0.2, bridge_s=0.25)) == [(0.0, 0.25)]


def test_edges_of_a_signal_lie_where_it_meets_the_threshold():
    """A triangle of height 1 over 0..2 is above 0.25 from 0.25 to 1.75."""
    times = np.array([0.0, 1.0, 2.0])
    assert edges(runs_above(times, [0.0, 1.0, 0.0], 0.25)) == [(0.25, 1.75)]


@pytest.mark.parametrize("rate_hz", [24.0, 30.0, 59.94])
def test_edges_of_a_sine_do_not_depend_on_the_frame_rate(rate_hz: float):
    """A sine is above 1/2 from 30 to 150 degrees, to a hundredth of a period at any usual rate."""
    times = np.arange(0, 1, 1 / rate_hz)
    (run,) = runs_above(times, np.sin(2 * np.pi * times), 0.5)
    assert (run.onset_s, run.offset_s) == pytest.approx((1 / 12, 5 / 12), abs=0.01)


def test_edge_next_to_unknown_or_end_is_the_samples_own_time():
    """Nothing is interpolated towards what is not known."""
    assert edges(runs_above([0.0, 1.0, 2.0, 3.0], [2.0, 2.0, np.nan, 2.0], 1.0)) == [(0.0, 1.0), (3.0, 3.0)]


def test_below_a_threshold_is_above_the_negated_one():
    """The valley of a V lies below 1 between its two crossings."""
    runs = runs_above([0.0, 1.0, 2.0], np.negative([2.0, 0.0, 2.0]), -1.0)
    assert edges(runs) == [(0.5, 1.5)]


def test_a_hole_in_the_clock_ends_a_stretch():
    """What happened between two far-apart frames is not known, so the stretch does not go on across them."""
    times = [0.0, 0.1, 2.0, 2.1, 2.2]
    assert edges(true_runs(times, [1, 1, 1, 1, 0], max_step_s=0.5)) == [(0.0, 0.1), (2.0, 2.1)]
    signal = [1.0, 1.0, 0.0, 0.0, 1.0]
    assert edges(runs_above(times, signal, 0.5, max_step_s=0.5)) == [(0.0, 0.1), (pytest.approx(2.15), 2.2)]
