"""The small curve of a row: means of equal parts, gaps where nothing can be used."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr

from review.domain.checklist import Target
from review.domain.model import Interval, Reason
from review.measures import measure
from review.report.sparkline import MOST_POINTS, sparkline

OF = measure("stance_width")
TARGET = Target("stance_width", 0.1, 0.4, "1", "common practice, no source")


def trace(times: np.ndarray, values: np.ndarray, reasons: np.ndarray) -> xr.DataArray:
    """Make a trace with one column."""
    coords = {"time": times, "reason": ("time", reasons.astype("i1"))}
    return xr.DataArray(values, coords, ("time",), attrs={"units": "1"})


def test_a_ramp_is_thinned_to_means() -> None:
    """960 samples of a straight line over 32 s come as 48 means, each the middle of its part."""
    times = np.arange(960) / 30
    spark = sparkline(OF, trace(times, times / 10, np.zeros(960)), Interval(0.0, 959 / 30), None, TARGET)
    middles = (np.arange(MOST_POINTS) + 0.5) * 959 / 30 / MOST_POINTS / 10
    np.testing.assert_allclose(spark["points"], middles, atol=0.002)
    assert (spark["low"], spark["high"], spark["why"]) == (0.1, 0.4, "")


def test_what_cannot_be_used_is_a_gap_with_its_reason() -> None:
    """A third of the stretch without feet in view is None, and the reason is told; what lies outside does not count."""
    times = np.arange(300) / 10
    gone = (times >= 10) & (times < 20)
    values = np.where(gone, np.nan, 0.25)
    reasons = np.where(gone, Reason.FEET_OUT_OF_VIEW, Reason.NONE)
    spark = sparkline(OF, trace(times, values, reasons), Interval(0.0, 29.9), None, None)
    missing = [point is None for point in spark["points"]]
    assert missing == [False] * 16 + [True] * 16 + [False] * 16
    assert spark["why"] == "feet out of view"
    assert sparkline(OF, trace(times, values, reasons), Interval(0.0, 9.0), None, None)["why"] == ""


def test_frames_between_two_looks_are_no_gap() -> None:
    """Of a film looked at five times a second only the looks count, and none of them leaves a hole."""
    times = np.arange(90) / 30
    reasons = np.where(np.arange(90) % 6 == 0, Reason.NONE, Reason.NOT_LOOKED)
    values = np.where(reasons == Reason.NONE, 0.5, np.nan)
    spark = sparkline(OF, trace(times, values, reasons), Interval(0.0, 89 / 30), None, TARGET)
    assert spark["points"] == [0.5] * 15


@pytest.mark.parametrize("seconds", [Interval(1.0, 1.0), Interval(40.0, 50.0)], ids=["a moment", "not looked at"])
def test_nothing_to_draw(seconds: Interval) -> None:
    """A moment has no course, and seconds that were not looked at have none either."""
    times = np.arange(90) / 30
    assert sparkline(OF, trace(times, times, np.zeros(90)), seconds, None, TARGET) is None
