"""Quick movements of drawn curves: found when they start out of rest and come back, else not."""

import numpy as np
import pytest

from review.signals.jerks import jerks
from tests.synthetic import clock
from tests.synthetic_limbs import pulse

FOUR_SECONDS = clock(4, 60)


@pytest.mark.parametrize("size", [-30.0, -6.0, 6.0, 30.0])
def test_a_pulse_is_one_jerk(size: float) -> None:
    """Up, down and a swing beyond rest are one movement of the pulse's size and sign, at its start."""
    (one,) = jerks(FOUR_SECONDS, 100 + pulse(FOUR_SECONDS, 1.5, size), 3.0)
    assert one.change == pytest.approx(size, rel=0.02)
    assert one.onset_s == pytest.approx(1.5, abs=0.034)
    assert one.height_s == pytest.approx(1.64, abs=0.02)
    assert one.drift < 0.1


def test_two_pulses_are_two() -> None:
    """A second tap a second and a half later is a jerk of its own."""
    curve = pulse(FOUR_SECONDS, 1.0, 20.0) + pulse(FOUR_SECONDS, 2.5, 10.0)
    assert [round(one.change) for one in jerks(FOUR_SECONDS, curve, 3.0)] == [20, 10]


@pytest.mark.parametrize(
    "curve",
    [
        pytest.param(np.full(240, 90.0), id="still"),
        pytest.param(20 * (1 - np.cos(np.pi * np.clip((FOUR_SECONDS - 1) / 0.2, 0, 1))), id="goes and stays"),
        pytest.param(30 * np.sin(2 * np.pi * 0.4 * FOUR_SECONDS), id="slow swinging"),
        pytest.param(30 * np.sin(2 * np.pi * 2.0 * FOUR_SECONDS), id="shaking throughout"),
        pytest.param(pulse(FOUR_SECONDS, 1.5, 2.0), id="smaller than asked"),
        pytest.param(pulse(FOUR_SECONDS, 0.05, 20.0), id="began before the curve did"),
    ],
)
def test_other_movements_are_none(curve: np.ndarray) -> None:
    """Slow, lasting, ongoing and tiny movements are no jerks."""
    assert jerks(FOUR_SECONDS, curve, 3.0) == ()


def test_drift_before_is_told() -> None:
    """A limb that moves by 12 deg a second had gone 3.6 deg in the 0.3 s before."""
    (one,) = jerks(FOUR_SECONDS, 12 * FOUR_SECONDS + pulse(FOUR_SECONDS, 1.5, 40.0), 3.0)
    assert one.drift == pytest.approx(3.6, abs=0.7)
