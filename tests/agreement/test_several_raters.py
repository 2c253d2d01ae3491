"""Coefficients for several raters, with and without gaps, against printed tables."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from review.signals.agreement.alpha import krippendorff_alpha
from review.signals.agreement.conger import conger_kappa
from review.signals.agreement.kappa import cohen_kappa, quadratic
from review.signals.agreement.ratings import agreed, counts_of, table_of
from review.signals.agreement.several import fleiss_kappa, gwet_ac, uniform_kappa
from tests.agreement import printed


def test_fourteen_raters() -> None:
    """Kappa .2099307, printed 0.210; agreement seen .378022, by things 1.000 .253 .308 and so on."""
    ratings = [
        [place for place, count in enumerate(row) for _ in range(count)] for row in printed.FOURTEEN_RATERS.tolist()
    ]
    assert fleiss_kappa(printed.FOURTEEN_RATERS).value == pytest.approx(0.2099307, abs=5e-8)
    assert agreed(ratings).share.value == pytest.approx(0.378022, abs=5e-7)
    each = [agreed([row]).share.value for row in ratings]
    assert each == pytest.approx([1.0, 0.253, 0.308, 0.440, 0.330, 0.462, 0.242, 0.176, 0.286, 0.286], abs=5e-4)


def test_thirty_patients() -> None:
    """Kappa .4302445; the five diagnoses were given 26, 26, 30, 55 and 43 times."""
    counts = counts_of([[int(level) - 1 for level in patient] for patient in printed.DIAGNOSES.split()], 5)
    assert counts.sum(axis=0).tolist() == [26, 26, 30, 55, 43]
    assert fleiss_kappa(counts).value == pytest.approx(0.4302445, abs=5e-8)


def test_four_raters_with_gaps() -> None:
    """AC1 .77544, its standard error .14295 and its interval from .461; agreement .81818; as irrCAC 0.4.4 has them."""
    ratings = printed.FOUR_RATERS - 1
    counts = counts_of(ratings, 5)
    ac1 = gwet_ac(counts)
    assert ac1.value == pytest.approx(0.77544, abs=5e-6)
    assert (ac1.low, ac1.high) == (pytest.approx(0.46081, abs=5e-6), 1.0)
    assert ac1.value is not None
    assert ac1.low is not None
    assert (ac1.value - ac1.low) / 2.2009852 == pytest.approx(0.14295, abs=5e-6)
    assert agreed(ratings).share.value == pytest.approx(0.81818, abs=5e-6)
    assert krippendorff_alpha(ratings, 5).value == pytest.approx(0.74342, abs=5e-6)


@pytest.mark.parametrize(
    ("coefficient", "value", "low"),
    [(fleiss_kappa, 0.76117, 0.42438), (uniform_kappa, 0.77273, 0.45421)],
    ids=["Fleiss", "Brennan and Prediger"],
)
def test_other_ideas_of_chance(coefficient: Any, value: float, low: float) -> None:
    """The same ratings by other expectations, with the ends of their intervals (irrCAC 0.4.4)."""
    figure = coefficient(counts_of(printed.FOUR_RATERS - 1, 5))
    assert (figure.value, figure.low) == pytest.approx((value, low), abs=5e-6)


def test_margins_of_their_own() -> None:
    """Conger's kappa of the same ratings is .76282 (irrCAC 0.4.4)."""
    assert conger_kappa(printed.FOUR_RATERS - 1, 5).value == pytest.approx(0.76282, abs=5e-6)


@pytest.mark.parametrize("seed", range(5))
def test_conger_of_two_is_cohen(seed: int) -> None:
    """For two raters without gaps Conger's kappa is Cohen's."""
    ratings = np.random.default_rng(seed).integers(0, 3, (40, 2)).astype(float)
    assert conger_kappa(ratings, 3).value == pytest.approx(cohen_kappa(table_of(ratings, 3)).value)


def test_the_jackknife_is_near_the_formula() -> None:
    """For two raters and many things the interval is near that after the formula of Fleiss, Cohen and Everitt."""
    rng = np.random.default_rng(7)
    first = rng.integers(0, 3, 2000)
    second = np.where(rng.random(2000) < 0.7, first, rng.integers(0, 3, 2000))
    ratings = np.stack([first, second], axis=1).astype(float)
    by_leaving_out, by_formula = conger_kappa(ratings, 3), cohen_kappa(table_of(ratings, 3))
    ends = (by_formula.low, by_formula.high)
    assert (by_leaving_out.low, by_leaving_out.high) == pytest.approx(ends, abs=2e-3)


def test_weights_make_ac2() -> None:
    """With quadratic weights .914001, from .685184 on (irrCAC 0.4.4)."""
    figure = gwet_ac(counts_of(printed.FOUR_RATERS - 1, 5), quadratic(5))
    assert figure.name == "Gwet's AC2"
    assert (figure.value, figure.low) == pytest.approx((0.914001, 0.685184), abs=5e-6)


@pytest.mark.parametrize(
    ("metric", "value"),
    [("nominal", 0.743421), ("ordinal", 0.815388), ("interval", 0.849107), ("ratio", 0.797403)],
)
def test_four_coders_with_gaps(metric: Any, value: float) -> None:
    """Printed .743, .815, .849 and .797 (from memory); further digits as the package krippendorff 0.9.0 has them.

    Another package's "ordinal" has other weights and gives .83364 here.
    """
    figure = krippendorff_alpha(printed.FOUR_CODERS - 1, 5, metric, [1, 2, 3, 4, 5])
    assert figure.value == pytest.approx(value, abs=5e-7)
    assert figure.count == 11, "what one coder alone judged drops out"
    assert figure.low is not None
    assert figure.high is not None
    assert figure.low < value < figure.high <= 1


def test_interval_of_alpha_is_near_that_of_the_formula() -> None:
    """For many things the sampled interval agrees with the one after Gwet's formula for Fleiss' kappa, near by then."""
    rng = np.random.default_rng(3)
    truth = rng.integers(0, 3, 400)
    ratings = np.where(rng.random((400, 3)) < 0.75, truth[:, None], rng.integers(0, 3, (400, 3))).astype(float)
    alpha, kappa = krippendorff_alpha(ratings, 3), fleiss_kappa(counts_of(ratings, 3))
    assert (alpha.value, alpha.low, alpha.high) == pytest.approx((kappa.value, kappa.low, kappa.high), abs=0.006)


def test_alpha_is_the_same_each_time() -> None:
    """The samples are drawn from a fixed start: a page shows one interval however often it is opened."""
    once = krippendorff_alpha(printed.FOUR_CODERS - 1, 5, "ordinal")
    assert once == krippendorff_alpha(printed.FOUR_CODERS - 1, 5, "ordinal")
