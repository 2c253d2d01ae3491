import numpy as np
import pytest

from review.capture.clock import rising


@pytest.mark.parametrize(
    ("stamped_s", "unstamped", "expected"),
    [
        pytest.param([0.0, 0.1, 0.4], 0, [0.0, 0.1, 0.4], id="uneven-times-stay"),
        pytest.param([0.0, 0.3, 0.3, 0.3, 0.6], 0, [0.0, 0.3, 0.4, 0.5, 0.6], id="repeats-fill-the-gap"),
        pytest.param([0.0, 0.1, 0.2, 0.2], 0, [0.0, 0.1, 0.2, 0.25], id="repeats-at-the-end-take-a-typical-gap"),
        pytest.param([0.0, 0.5, 1.0], 2, [0.0, 0.5, 1.0, 1.5, 2.0], id="unstamped-frames-come-first"),
        pytest.param([0.0], 0, [0.0], id="one-frame"),
    ],
)
def test_times_rise_strictly_from_zero(stamped_s: list[float], unstamped: int, expected: list[float]) -> None:
    """Repeated and missing stamps become strictly rising times, the first of them 0."""
    times = rising(np.array(stamped_s), unstamped)
    np.testing.assert_allclose(times, expected, atol=1e-12)


def test_a_repeated_frame_stays_before_the_next_stamp() -> None:
    """However many frames share a stamp, none of them is moved to or past the next one."""
    stamped = np.repeat([0.0, 0.04, 0.08], [1, 50, 1])
    times = rising(stamped)
    assert np.all(np.diff(times) > 0)
    assert times[50] < 0.08
