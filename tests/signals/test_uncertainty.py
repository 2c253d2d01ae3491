"""Noise and intervals against simulated series whose truth is known."""

import numpy as np
import pytest

from review.signals.uncertainty import Bounded, above_floor, bounded, effective_size, median_error, noise_sd


def drifting(count: int, memory: float, seed: int) -> np.ndarray:
    """First-order autoregressive series with unit variance."""
    random = np.random.default_rng(seed)
    values = np.empty(count)
    values[0] = random.normal()
    for index in range(1, count):
        values[index] = memory * values[index - 1] + np.sqrt(1 - memory**2) * random.normal()
    return values


def test_noise_is_found_under_a_moving_curve() -> None:
    """Noise of 0.5 on a slow sine of 20 and a few jumps is read within a tenth."""
    times = np.arange(3000) / 30
    curve = 20 * np.sin(2 * np.pi * 0.2 * times) + np.where(times > 50, 30.0, 0.0)
    assert noise_sd(curve + np.random.default_rng(2).normal(0, 0.5, 3000)) == pytest.approx(0.5, rel=0.1)


def test_noise_of_a_straight_line_is_none() -> None:
    """A ramp has no noise; two samples cannot say."""
    assert noise_sd(np.arange(10.0)) == 0.0
    assert np.isnan(noise_sd([1.0, 2.0]))


@pytest.mark.parametrize("memory", [pytest.param(m, id=f"memory {m:g}") for m in (0.0, 0.5, 0.9)])
def test_effective_size_of_an_autoregressive_series(memory: float) -> None:
    """An autoregressive series of first order has n (1 - r) / (1 + r) effective samples."""
    count = 200_000
    expected = count * (1 - memory) / (1 + memory)
    assert effective_size(drifting(count, memory, seed=3)) == pytest.approx(expected, rel=0.1)


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        pytest.param([], 0.0, id="empty"),
        pytest.param([4.0], 1.0, id="one"),
        pytest.param([4.0] * 7, 7.0, id="constant"),
        pytest.param([np.nan, 1.0, np.nan], 1.0, id="missing left out"),
    ],
)
def test_effective_size_at_the_edges(values: list[float], expected: float) -> None:
    """Short and constant series have as many samples as they have."""
    assert effective_size(values) == expected


def test_median_error_covers_the_true_median() -> None:
    """In 200 correlated series the true median lies within 1.96 standard errors in about 95 of a hundred."""
    inside = 0
    for seed in range(200):
        values = drifting(600, 0.7, seed)
        inside += abs(np.median(values)) <= 1.96 * median_error(values)
    assert 180 <= inside <= 199


def test_median_error_of_nothing_is_missing() -> None:
    """No samples, no error."""
    assert np.isnan(median_error([np.nan]))


def test_errors_join_in_quadrature() -> None:
    """3, 4 and a tenth of 120 join to 13."""
    number = bounded(120.0, noise=3.0, offset=4.0, scale=0.1)
    assert number.high - number.value == pytest.approx(1.959964 * 13)
    assert number.value - number.low == pytest.approx(1.959964 * 13)


def test_floor_is_taken_off_in_quadrature() -> None:
    """5 over a floor of 3 leaves 4; a floor as high as the total leaves 0."""
    assert above_floor(Bounded(5.0, 5.0, 5.0), Bounded(3.0, 0.0, 5.0)) == Bounded(4.0, 0.0, 5.0)


def test_independent_noise_is_taken_off_the_root_mean_square() -> None:
    """A signal of 3 under independent noise of 4 measures 5 and reads 3 again."""
    random = np.random.default_rng(5)
    signal, noise = random.normal(0, 3, 100_000), random.normal(0, 4, 100_000)
    total = float((signal + noise).std())
    floor = float(noise.std())
    assert above_floor(Bounded(total, total, total), Bounded(floor, floor, floor)).value == pytest.approx(3, rel=0.02)
