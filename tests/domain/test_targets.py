"""The range in which a value is expected: what an interval says of it, and when it says nothing."""

from __future__ import annotations

import pytest

from review.domain.checklist import Target
from review.domain.model import Estimate, Reason


def expected(low: float | None, high: float | None) -> Target:
    """Make a range."""
    return Target("stance_width", low, high, "1", "Author's choice, no source.")


def found(low: float, high: float) -> Estimate:
    """Make an estimate in the middle of its interval."""
    return Estimate((low + high) / 2, low, high, 1.0, (Reason.FRAME_GAP,), ())


@pytest.mark.parametrize(
    ("target", "interval", "verdict"),
    [
        (expected(0.9, 1.2), (1.0, 1.1), "within"),
        (expected(0.9, 1.2), (1.3, 1.4), "outside"),
        (expected(0.9, 1.2), (1.1, 1.3), "cannot tell"),
        (expected(None, 1.2), (0.2, 1.1), "within"),
        (expected(20, None), (10.0, 19.9), "outside"),
    ],
)
def test_the_whole_interval_decides(target: Target, interval: tuple[float, float], verdict: str) -> None:
    """All of it inside is within, all of it beyond is outside, one that crosses an end cannot tell."""
    assert target.judge(found(*interval)) == verdict


def test_an_interval_wider_than_the_range_says_no_number() -> None:
    """Where no value could be told to lie within, the number is left out, and why comes first."""
    served = expected(0.9, 1.2).served(found(0.8, 1.3))
    assert (served.value, served.low, served.high) == (None, None, None)
    assert served.reasons == (Reason.TOO_UNSURE, Reason.FRAME_GAP)


@pytest.mark.parametrize(
    ("target", "interval"),
    [
        pytest.param(expected(0.9, 1.2), (1.1, 1.3), id="narrower-than-the-range"),
        pytest.param(expected(0.9, 1.2), (1.4, 2.4), id="wide-but-surely-outside"),
        pytest.param(expected(None, 1.2), (0.0, 2.0), id="open-below"),
        pytest.param(expected(20, None), (10.0, 40.0), id="open-above"),
        pytest.param(expected(6, 6), (5.0, 6.0), id="a-single-number"),
    ],
)
def test_other_numbers_stay(target: Target, interval: tuple[float, float]) -> None:
    """A number that can say something of the range is said, however the verdict falls."""
    assert target.served(found(*interval)) == found(*interval)
