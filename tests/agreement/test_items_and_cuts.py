"""Items of a sheet and cut scores, against printed values and tables made up so that the arithmetic can be checked."""

from __future__ import annotations

import numpy as np
import pytest

from review.signals.agreement.cut_scores import UNSTEADY, angoff, borderline_group, borderline_regression
from review.signals.agreement.items import cronbach_alpha, discrimination, discrimination_with_gaps
from tests.agreement import printed

GLOBAL = [1, 2, 2, 3, 3, 3, 4, 4, 5, 5]
TOTALS = [9, 11, 13, 14, 15, 16, 18, 17, 20, 19]
"""Made up: ten learners' global ratings and totals."""

JUDGED = [[0.9, 0.8, 0.6, 0.7, 0.5], [0.8, 0.9, 0.5, 0.6, 0.6], [1.0, 0.7, 0.7, 0.8, 0.4]]
"""Made up: three judges, five items."""


def test_cronbach_alpha_of_ten_questions() -> None:
    """.591719, from .195 to .840, as pingouin 0.6.1 has it."""
    figure = cronbach_alpha([[int(answer) for answer in person] for person in printed.QUESTIONS.split()])
    assert figure.value == pytest.approx(0.591719, abs=5e-7)
    assert (figure.low, figure.high) == pytest.approx((0.195, 0.840), abs=5e-4)


def test_cronbach_alpha_by_hand() -> None:
    """Five people, three items, worked out by the formula: .944444."""
    rows = [[2, 3, 3], [4, 4, 5], [1, 2, 1], [5, 4, 5], [3, 3, 4]]
    assert cronbach_alpha(rows).value == pytest.approx(0.944444, abs=5e-7)


def test_an_item_is_held_against_the_others() -> None:
    """The item itself is not in the total: one that goes against the others has a correlation of -1, not of 0."""
    rows = [[1, 0], [2, -1], [3, -2], [4, -3]]
    against = discrimination(rows, 0)
    assert against.value == -1
    along = discrimination([[1, 2, 0], [2, 1, 1], [3, 4, 0], [4, 3, 1], [5, 5, 1]], 0)
    expected = float(np.corrcoef([1, 2, 3, 4, 5], [2, 2, 4, 4, 6])[0, 1])
    assert along.value == pytest.approx(expected)
    assert along.high == pytest.approx(np.tanh(np.arctanh(expected) + 1.959964 / np.sqrt(2)))


def test_borderline_regression() -> None:
    """Slope 2.602564, start 6.871795: the cut is 12.076923 at 2 and 13.378205 at 2.5; standard error .377743."""
    figure = borderline_regression(GLOBAL, TOTALS, 2)
    assert figure.value == pytest.approx(12.076923, abs=5e-7)
    assert borderline_regression(GLOBAL, TOTALS, 2.5).value == pytest.approx(13.378205, abs=5e-7)
    assert figure.high is not None
    assert (figure.high - 12.076923) / 2.306004 == pytest.approx(0.377743, abs=5e-7)
    assert figure.note == ""
    assert borderline_regression(GLOBAL[:9], TOTALS[:9], 2).note == UNSTEADY


def test_borderline_group() -> None:
    """The two who were rated 2 have 12 on the mean; two are too few to rely on, which is said."""
    figure = borderline_group(GLOBAL, TOTALS, 2)
    assert (figure.value, figure.note) == (12.0, UNSTEADY)


def test_angoff() -> None:
    """Judges' totals 3.5, 3.4 and 3.6: the cut is 3.5 of 5, standard error .0577."""
    figure = angoff(JUDGED)
    assert figure.value == pytest.approx(3.5)
    assert figure.high is not None
    assert (figure.high - 3.5) / 4.302653 == pytest.approx(0.0577, abs=5e-5)


def test_without_gaps_the_rest_is_the_total_of_the_others() -> None:
    """Shares with weights give the correlation of points when every step was judged."""
    rng = np.random.default_rng(7)
    shares, weights = rng.choice([0.0, 0.5, 1.0], (12, 5)), np.array([1.0, 2.0, 1.0, 4.0, 2.0])
    for item in range(5):
        with_gaps = discrimination_with_gaps(shares, weights, item)
        assert with_gaps.value == pytest.approx(discrimination(shares * weights, item).value)
        assert with_gaps.count == 12


def test_with_gaps_the_rest_is_the_share_of_what_was_judged() -> None:
    """By hand: rests of 1, 0.4, 1/3 and 0; where the item or more than half of the rest is a gap, it does not count."""
    gap = np.nan
    shares = [[1, 1, 1], [1, 1, 0], [0, gap, 1 / 3], [0, 0, 0], [gap, 1, 1], [1, 1, gap]]
    figure = discrimination_with_gaps(shares, [1, 1, 1.5], 0)
    expected = float(np.corrcoef([1, 1, 0, 0], [1, 1 / 2.5, 1 / 3, 0])[0, 1])
    assert (figure.value, figure.count) == (pytest.approx(expected), 4)
    assert discrimination_with_gaps(shares[:3], [1, 1, 1.5], 0).value is None
