"""Kappa of two raters and Wilson's interval, against printed tables."""

from __future__ import annotations

import numpy as np
import pytest

from review.signals.agreement.kappa import cohen_kappa, distances, linear, quadratic
from review.signals.agreement.ratings import agreed, counts_of, table_of
from review.signals.agreement.several import fleiss_kappa, gwet_ac, uniform_kappa
from review.signals.agreement.shares import wilson

TWO_BY_TWO = {
    "Feinstein and Cicchetti 1990, even margins": ([[40, 9], [6, 45]], 0.85, 0.699519, 0.700748, 0.699248),
    "Feinstein and Cicchetti 1990, lopsided": ([[80, 10], [5, 5]], 0.85, 0.318182, 0.808000, 0.314286),
    "origin from memory, alike": ([[45, 15], [25, 15]], 0.60, 0.130435, 0.266055, 0.120879),
    "origin from memory, opposed": ([[25, 35], [5, 35]], 0.60, 0.259259, 0.207921, 0.191919),
    "common teaching": ([[20, 5], [10, 15]], 0.70, 0.40, 0.405941, 0.393939),
}
"""Tables with raw agreement, kappa, AC1 and Scott's pi. The first two: J. Clin. Epidemiol. 43:543-549, printed .70 and
.32, read in Gerstman, Epidemiology Kept Simple, table 10.6; further digits computed from the formulas."""

THREE_BY_THREE = np.array([[75, 1, 4], [5, 4, 1], [0, 0, 10]])
"""Fleiss, Levin and Paik, Statistical Methods for Rates and Proportions (from memory)."""

DISORDERS = np.array([[88, 10, 2], [14, 40, 6], [18, 10, 12]])
DISORDER_WEIGHTS = np.array([[0, 1, 3], [1, 0, 6], [3, 6, 0]])
"""Cohen J. (1968), Psychol. Bull. 70:213-220, table 1, N = 200: disagreement weights read in a vignette on CRAN, counts
from memory; printed .49 and .348."""


def listed(table: object) -> np.ndarray:
    """Return the single ratings of a table, shape (things, 2)."""
    counts = np.asarray(table)
    pairs = [(row, column) for row, column in np.ndindex(counts.shape) for _ in range(counts[row, column])]
    return np.array(pairs, float)


@pytest.mark.parametrize("name", TWO_BY_TWO)
def test_two_by_two_tables(name: str) -> None:
    """The same raw agreement gives a high kappa or a low one as the margins are; AC1 stays near it."""
    table, seen, kappa, ac1, pi = TWO_BY_TWO[name]
    ratings = listed(table)
    counts = counts_of(ratings, 2)
    assert agreed(ratings).share.value == pytest.approx(seen)
    assert table_of(ratings, 2).tolist() == table
    assert cohen_kappa(table).value == pytest.approx(kappa, abs=5e-7)
    assert gwet_ac(counts).value == pytest.approx(ac1, abs=5e-7)
    assert fleiss_kappa(counts).value == pytest.approx(pi, abs=5e-7)
    assert uniform_kappa(counts).value == pytest.approx(2 * seen - 1)


@pytest.mark.parametrize(
    ("table", "error", "low", "high"),
    [([[40, 9], [6, 45]], 0.0714, 0.5596, 0.8394), ([[80, 10], [5, 5]], 0.1335, 0.0566, 0.5798)],
    ids=["even margins", "lopsided"],
)
def test_interval_of_kappa(table: list[list[int]], error: float, low: float, high: float) -> None:
    """Standard error and interval are those of statsmodels 0.15.0."""
    figure = cohen_kappa(table)
    assert (figure.low, figure.high) == pytest.approx((low, high), abs=5e-5)
    assert figure.high is not None
    assert figure.value is not None
    assert (figure.high - figure.value) / 1.959964 == pytest.approx(error, abs=5e-5)


def test_readings_of_x_rays() -> None:
    """19,790 films, 1467 and 16,232 alike: expected .7780 and kappa .524 (Gerstman, Epidemiology Kept Simple)."""
    off = 19790 - 1467 - 16232
    splits = np.arange(off // 2)
    first, second = (1467 + splits) / 19790, (1467 + off - splits) / 19790
    expected = first * second + (1 - first) * (1 - second)
    split = int(splits[np.argmin(np.abs(expected - 0.7780))])
    assert round(float(expected[split]), 4) == 0.7780
    figure = cohen_kappa([[1467, split], [off - split, 16232]])
    assert figure.value == pytest.approx(0.524, abs=5e-4)


def test_three_levels() -> None:
    """Plain .676471, linear .722222, quadratic .755319."""
    assert cohen_kappa(THREE_BY_THREE).value == pytest.approx(0.676471, abs=5e-7)
    assert cohen_kappa(THREE_BY_THREE, linear(3)).value == pytest.approx(0.722222, abs=5e-7)
    assert cohen_kappa(THREE_BY_THREE, quadratic(3)).value == pytest.approx(0.755319, abs=5e-7)


@pytest.mark.parametrize("table", [DISORDERS, DISORDERS.T], ids=["as printed", "transposed"])
def test_own_weights_of_disagreement(table: np.ndarray) -> None:
    """Plain .491525, with the printed weights .347826, linear .473684, quadratic .454545, either way round."""
    assert cohen_kappa(table).value == pytest.approx(0.491525, abs=5e-7)
    assert cohen_kappa(table, DISORDER_WEIGHTS).value == pytest.approx(0.347826, abs=5e-7)
    assert cohen_kappa(table, linear(3)).value == pytest.approx(0.473684, abs=5e-7)
    assert cohen_kappa(table, quadratic(3)).value == pytest.approx(0.454545, abs=5e-7)


def test_weights_may_have_any_scale() -> None:
    """Weights up to 6 and the same weights up to 1 give one number and one standard error, .0755."""
    large, small = cohen_kappa(DISORDERS, DISORDER_WEIGHTS), cohen_kappa(DISORDERS, DISORDER_WEIGHTS / 6)
    ends = (small.value, small.low, small.high)
    assert (large.value, large.low, large.high) == pytest.approx(ends, abs=1e-12)
    assert large.high is not None
    assert large.value is not None
    assert (large.high - large.value) / 1.959964 == pytest.approx(0.0755, abs=5e-5)


def test_weights_of_agreement_are_refused() -> None:
    """Given in their place 1 - W/6 would make -.1039 of .348 without a word; a diagonal other than 0 tells."""
    with pytest.raises(ValueError, match="weights of disagreement: 0 on the diagonal"):
        cohen_kappa(DISORDERS, 1 - DISORDER_WEIGHTS / 6)


def test_weights_from_points() -> None:
    """Three levels worth all, half and none of the points are as far apart as by linear weights."""
    assert cohen_kappa(THREE_BY_THREE, distances([1, 0.5, 0])).value == pytest.approx(0.722222, abs=5e-7)
    assert cohen_kappa(THREE_BY_THREE, distances([1, 0.9, 0])).value != pytest.approx(0.722222, abs=1e-3)


WILSON = [
    (81, 263, 0.2553, 0.3662),
    (15, 148, 0.0624, 0.1605),
    (0, 20, 0.0, 0.1611),
    (1, 29, 0.0061, 0.1718),
    (8, 10, 0.4902, 0.9433),
    (10, 10, 0.7225, 1.0),
    (23, 60, 0.2709, 0.5098),
]
"""Newcombe R. G. (1998), Stat. Med. 17:857-872, the first four (printed table from memory); all by
statsmodels 0.15.0."""


@pytest.mark.parametrize(("counted", "of", "low", "high"), WILSON, ids=[f"{k} of {n}" for k, n, *_ in WILSON])
def test_wilson(counted: int, of: int, low: float, high: float) -> None:
    """The interval has a width at none of twenty and at ten of ten as well."""
    figure = wilson("share", counted, of)
    assert figure.value == pytest.approx(counted / of)
    assert (figure.low, figure.high) == pytest.approx((low, high), abs=5e-5)
