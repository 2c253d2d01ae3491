"""Totals of several raters: intraclass correlation and limits of agreement, against printed tables."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from review.signals.agreement.icc import icc, squares, stepped_up
from review.signals.agreement.items import cronbach_alpha
from review.signals.agreement.limits import limits_of_agreement
from tests.agreement import printed

SHROUT_FLEISS = {
    "1,1": (0.165742, -0.13, 0.72),
    "2,1": (0.289764, 0.02, 0.76),
    "3,1": (0.714841, 0.34, 0.95),
    "1,k": (0.442797, None, None),
    "2,k": (0.620051, 0.07, 0.93),
    "3,k": (0.909316, 0.68, 0.99),
}
"""Printed .17, .29, .71, .44, .62 and .91 (table 4); intervals as pingouin 0.6.1 rounds them."""

WINES = {"1,1": 0.727521, "2,1": 0.727689, "3,1": 0.729487, "1,k": 0.914384, "2,k": 0.914450, "3,k": 0.915159}


def test_mean_squares() -> None:
    """Shrout and Fleiss, table 3: 11.24, 6.26, 32.49, 1.02."""
    found = squares(printed.JUDGES)
    assert (found.between, found.within, found.judges, found.rest) == pytest.approx(
        (11.2417, 6.2639, 32.4861, 1.01944), abs=5e-5
    )


@pytest.mark.parametrize("form", SHROUT_FLEISS)
def test_six_targets_four_judges(form: Any) -> None:
    """Six forms of one table, with the intervals that another program has for them."""
    value, low, high = SHROUT_FLEISS[str(form)]
    figure = icc(printed.JUDGES, form)
    assert figure.value == pytest.approx(value, abs=5e-7)
    if low is not None:
        assert (figure.low, figure.high) == pytest.approx((low, high), abs=5e-3)


@pytest.mark.parametrize("form", WINES)
def test_eight_wines_four_judges(form: Any) -> None:
    """The six forms as pingouin 0.6.1 has them, with .43 to .93 for one judge and .75 to .98 for the mean of four."""
    figure = icc(printed.WINES, form)
    assert figure.value == pytest.approx(WINES[str(form)], abs=5e-7)
    ends = (0.43, 0.93) if str(form).endswith("1") else (0.75, 0.98)
    assert (figure.low, figure.high) == pytest.approx(ends, abs=5.1e-3)


def test_an_attempt_with_a_gap_is_left_out() -> None:
    """A total that is missing takes its attempt out of the table and leaves the others as they are."""
    gap = [*printed.JUDGES, [5, np.nan, 5, 5]]
    assert icc(gap, "2,1") == icc(printed.JUDGES, "2,1")


def test_four_judges_are_as_reliable_as_one_stepped_up() -> None:
    """.2898 of one judge makes .62009 of four; and Cronbach's alpha of the table is its form 3,k."""
    assert stepped_up(0.2898, 4) == pytest.approx(0.62009, abs=5e-6)
    assert cronbach_alpha(printed.JUDGES).value == pytest.approx(0.909316, abs=5e-7)


def test_peak_flow_meters() -> None:
    """Mean -2.1176, sd 38.7651, limits -78.097 and 73.862 with 1.96, and the intervals of mean and lower limit."""
    found = limits_of_agreement(printed.PEAK_FLOW_WRIGHT, printed.PEAK_FLOW_MINI, factor=1.96)
    assert found.bias.value == pytest.approx(-2.1176, abs=5e-5)
    assert found.spread == pytest.approx(38.7651, abs=5e-5)
    assert (found.low.value, found.high.value) == pytest.approx((-78.097, 73.862), abs=5e-4)
    assert (found.bias.low, found.bias.high) == pytest.approx((-22.05, 17.81), abs=5e-3)


def test_peak_flow_meters_as_the_paper_has_it() -> None:
    """The paper takes 2 sd and rounds before: it prints -79.7 and 75.5, and -114.3 to -45.1 around the lower limit."""
    found = limits_of_agreement(printed.PEAK_FLOW_WRIGHT, printed.PEAK_FLOW_MINI, factor=2)
    assert (found.low.value, found.high.value) == pytest.approx((-79.648, 75.413), abs=5e-4)
    assert (round(-2.1 - 2 * 38.8, 1), round(-2.1 + 2 * 38.8, 1)) == (-79.7, 75.5)
    assert (found.low.low, found.low.high) == pytest.approx((-114.2, -45.1), abs=0.05)
    correlated = np.corrcoef(printed.PEAK_FLOW_WRIGHT, printed.PEAK_FLOW_MINI)[0, 1]
    assert correlated == pytest.approx(0.9433, abs=5e-5), "and a correlation of .94 says nothing of these limits"
