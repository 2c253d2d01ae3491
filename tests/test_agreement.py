"""Every coefficient at once: where one is not defined there is a sentence, and never NaN, an error or a warning.

The printed tables are held in `tests/agreement`.
"""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from review.signals.agreement.alpha import krippendorff_alpha
from review.signals.agreement.conger import conger_kappa
from review.signals.agreement.cut_scores import angoff, borderline_group, borderline_regression
from review.signals.agreement.figure import NO_WIDTH, Figure
from review.signals.agreement.icc import icc
from review.signals.agreement.items import cronbach_alpha, discrimination
from review.signals.agreement.kappa import cohen_kappa, linear
from review.signals.agreement.limits import limits_of_agreement
from review.signals.agreement.ratings import agreed, counts_of, table_of
from review.signals.agreement.several import fleiss_kappa, gwet_ac, uniform_kappa

YES, GAP = 0.0, np.nan
ALL_YES = np.full((10, 2), YES)
ONE_MISSED = np.array([[0.0, 0.0]] * 9 + [[0.0, 1.0]])


def all_figures(ratings: np.ndarray, levels: int) -> list[Figure]:
    """Return every coefficient of a table of ratings."""
    counts = counts_of(ratings, levels)
    table = table_of(ratings[:, :2], levels) if ratings.shape[1] >= 2 else np.zeros((levels, levels))
    totals = limits_of_agreement(ratings[:, 0], ratings[:, -1])
    forms = [icc(ratings, form) for form in ("1,1", "2,1", "3,1", "1,k", "2,k", "3,k")]
    alphas = [krippendorff_alpha(ratings, levels, metric) for metric in ("nominal", "ordinal", "interval", "ratio")]
    return [
        agreed(ratings).share,
        cohen_kappa(table),
        cohen_kappa(table, linear(levels)),
        *(of(counts) for of in (fleiss_kappa, gwet_ac, uniform_kappa)),
        gwet_ac(counts, linear(levels)),
        conger_kappa(ratings, levels),
        *alphas,
        *forms,
        totals.bias,
        totals.low,
        totals.high,
        cronbach_alpha(ratings),
        discrimination(ratings, 0),
    ]


def faults(figure: Figure) -> list[str]:
    """Return what is wrong with a figure."""
    numbers = [one for one in (figure.value, figure.low, figure.high) if one is not None]
    wrong = ["not a finite number"] if not all(math.isfinite(one) for one in numbers) else []
    if figure.value is None or figure.low is None:
        several_raters = figure.name == "raw agreement" and figure.value is not None
        wrong += [] if figure.note.endswith(".") or several_raters else ["no sentence"]
    elif not figure.low <= figure.value <= (figure.high if figure.high is not None else -math.inf):
        wrong.append("outside of its interval")
    return [f"{figure}: {one}" for one in wrong]


@settings(deadline=None, max_examples=60)
@given(st.data())
def test_any_table_gives_numbers_or_sentences(data: st.DataObject) -> None:
    """Whatever was graded by however many: a finite number within its interval, or a sentence in its place."""
    things, raters, levels = (data.draw(st.integers(1, most)) for most in (7, 4, 4))
    grade = st.one_of(st.none(), st.integers(0, levels - 1))
    rows = data.draw(
        st.lists(st.lists(grade, min_size=raters, max_size=raters), min_size=things, max_size=things), label="grades"
    )
    ratings = np.array([[GAP if one is None else float(one) for one in row] for row in rows])
    assert [fault for figure in all_figures(ratings, levels) for fault in faults(figure)] == []


def test_all_the_same_grade() -> None:
    """Kappa and alpha have no value and say so, AC1 is 1; the raw agreement is 10 of 10, from .72 on."""
    table, counts = table_of(ALL_YES, 2), counts_of(ALL_YES, 2)
    for figure in (cohen_kappa(table), fleiss_kappa(counts), krippendorff_alpha(ALL_YES, 2)):
        assert figure.value is None
        assert "the same" in figure.note
        assert figure.note.endswith("Read the counts.")
    assert (gwet_ac(counts).value, gwet_ac(counts).note) == (1.0, NO_WIDTH)
    assert agreed(ALL_YES).share.low == pytest.approx(0.7225, abs=5e-5)


def test_one_missed_of_ten() -> None:
    """Kappa is 0 though nine of ten agree, and says why; alpha 0 as well; AC1 .8895 (irrCAC 0.4.4)."""
    kappa = cohen_kappa(table_of(ONE_MISSED, 2))
    assert kappa.value == pytest.approx(0.0)
    assert "the same grade every time" in kappa.note
    assert krippendorff_alpha(ONE_MISSED, 2).value == pytest.approx(0.0)
    assert gwet_ac(counts_of(ONE_MISSED, 2)).value == pytest.approx(0.8895, abs=5e-5)
    assert (agreed(ONE_MISSED).agreed, agreed(ONE_MISSED).pairs) == (9, 10)


def test_full_agreement_on_two_levels() -> None:
    """Kappa is 1 and has no interval: the formula would give it none, which is no certainty."""
    figure = cohen_kappa([[5, 0], [0, 5]])
    assert (figure.value, figure.low, figure.note) == (1.0, None, NO_WIDTH)


def test_one_rater_alone() -> None:
    """One person's grades agree with nobody's."""
    found = agreed(np.array([[0.0, GAP], [1.0, GAP]]))
    assert (found.pairs, found.share.note) == (0, "Only one person graded; agreement needs two.")
    assert icc([[3.0], [4.0]]).note == "Only one person graded; agreement needs two."


def test_two_raters_who_never_met() -> None:
    """Two people who graded different things have nothing to be compared by."""
    apart = np.array([[0.0, GAP], [GAP, 1.0]])
    notes = {agreed(apart).share.note, fleiss_kappa(counts_of(apart, 2)).note, krippendorff_alpha(apart, 2).note}
    assert notes == {"Nothing was graded by two people."}


@pytest.mark.parametrize(
    ("figure", "words"),
    [
        (icc([[5, 5], [5, 5], [5, 5]]), "All totals are the same"),
        (icc([[5, 6]]), "Fewer than two attempts"),
        (icc([[1, 2], [2, 3], [3, 4]], "3,1"), "nothing but a shift"),
        (limits_of_agreement([4], [5]).bias, "Fewer than two attempts"),
        (limits_of_agreement([4, 6], [5, 7]).low, "the same amount each time"),
        (cronbach_alpha([[1, 1], [1, 1]]), "All totals are the same"),
        (discrimination([[1, 2], [1, 3], [1, 4], [1, 5]], 0), "separates nobody"),
        (discrimination([[1, 2], [2, 2], [3, 2], [4, 2]], 0), "nothing to go along with"),
        (discrimination([[1, 2], [2, 3], [3, 4]], 0), "Fewer than four"),
        (borderline_regression([2, 2, 2], [5, 6, 7], 2), "different global ratings"),
        (borderline_group([1, 2, 3], [5, 6, 7], 2), "Fewer than two learners"),
        (angoff([[0.5, 0.5]]), "at least two are needed"),
    ],
    ids=lambda value: value if isinstance(value, str) else value.name,
)
def test_too_few_or_too_alike(figure: Figure, words: str) -> None:
    """Each refusal names what is lacking."""
    assert words in figure.note
    assert dataclasses.replace(figure, note="").low is None
