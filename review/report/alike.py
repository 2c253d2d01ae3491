"""How far people grade alike: the coefficient that fits the scale, with counts and raw agreement said first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from review.domain.checklist import NOT_ASSESSABLE, GradeScale
from review.domain.model import Person
from review.report.graded import Graded, levels_of
from review.report.said import person_json
from review.signals.agreement.alpha import Metric, krippendorff_alpha
from review.signals.agreement.figure import Figure
from review.signals.agreement.kappa import cohen_kappa, distances, linear
from review.signals.agreement.ratings import Agreed, agreed, counts_of, table_of
from review.signals.agreement.several import gwet_ac

Floats = npt.NDArray[np.float64]

ENOUGH: Final = 10
"""Fewer grades in common than this give counts only, no coefficient; common practice, no source."""


class Ratings:
    """The blind grades of several people on the same attempts, as one table.

    Parameters
    ----------
    attempts
        Attempts whose sheets have one scale.
    people
        Whose grades; the columns.
    """

    def __init__(self, attempts: Sequence[Graded], people: Sequence[Person]) -> None:
        self.scale = attempts[0].sheet.scale
        levels = levels_of(self.scale)
        columns = {person.id: column for column, person in enumerate(people)}
        rows: dict[tuple[str, Any], int] = {}
        cells = []
        for attempt in attempts:
            for one in attempt.given:
                if one.person_id in columns:
                    row = rows.setdefault((attempt.recording.id, one.place), len(rows))
                    cells.append((row, columns[one.person_id], one.blind, one.level))
        shape = (len(rows), len(people))
        self.places = [place for _, place in rows]
        self.grades: Floats = np.full(shape, np.nan)
        self.unjudged = np.zeros(shape, bool)
        self.seen = np.zeros(shape, bool)
        for row, column, blind, level in cells:
            self.grades[row, column] = np.nan if blind is None else levels.get(blind, np.nan)
            self.unjudged[row, column] = level == NOT_ASSESSABLE
            self.seen[row, column] = blind is None


def same_scale(attempts: Sequence[Graded]) -> tuple[list[Graded], int]:
    """Return the attempts whose scale is that of the newest one, and how many have another."""
    if not attempts:
        return [], 0
    wanted = attempts[-1].sheet.scale.levels
    kept = [one for one in attempts if one.sheet.scale.levels == wanted]
    return kept, len(attempts) - len(kept)


def pair(ratings: Ratings, first: int, second: int, people: Sequence[Person]) -> dict[str, Any]:
    """Return how far two people grade alike, as plain JSON values.

    Returns
    -------
    dict
        ``people``, ``agreed``, ``of``, ``share``, ``levels`` and ``table`` (rows the first one's), ``coefficients``
        (each a figure), ``words`` (sentences, counts first) and ``left_out`` (sentences).
    """
    both = ratings.grades[:, [first, second]]
    found = agreed(both)
    codes = (people[first].code, people[second].code)
    words = [level.word for level in ratings.scale.levels][: len(levels_of(ratings.scale))]
    table = table_of(both, len(words))
    figures = _coefficients(both, table, ratings.scale) if found.pairs >= ENOUGH else []
    return {
        "people": [person_json(people[first]), person_json(people[second])],
        "agreed": found.agreed,
        "of": found.pairs,
        "share": figure_json(found.share),
        "levels": words,
        "table": table.tolist(),
        "coefficients": [figure_json(one) for one in figures],
        "words": [*_counted(found, codes), *_leaning(table, codes), *map(figure_words, figures), *_few(found.pairs)],
        "left_out": _left_out(ratings, (first, second), codes),
    }


def everybody(ratings: Ratings, people: Sequence[Person]) -> dict[str, Any] | None:
    """Return how far three or more people grade alike, gaps allowed; None where fewer graded the same steps."""
    found = agreed(ratings.grades)
    if found.raters < 3:
        return None
    levels = len(levels_of(ratings.scale))
    metric: Metric = "nominal" if levels == 2 else "ordinal"
    figures = [krippendorff_alpha(ratings.grades, levels, metric)] if found.things >= ENOUGH else []
    share = 0.0 if found.share.value is None else found.share.value
    first = (
        f"{found.raters} people graded {found.things} steps in twos or more: {found.agreed} of {found.pairs} pairs of "
        f"grades are the same, {100 * share:.0f} % on the mean of the steps."
    )
    return {
        "people": [person_json(one) for one in people],
        "agreed": found.agreed,
        "of": found.pairs,
        "share": figure_json(found.share),
        "coefficients": [figure_json(one) for one in figures],
        "words": [first, *map(figure_words, figures), *_few(found.things)],
    }


def by_step(ratings: Ratings, titles: Mapping[Any, str]) -> list[dict[str, Any]]:
    """Return for each step how many pairs of grades are the same, the step that is graded least alike first."""
    rows: dict[Any, list[int]] = {}
    for row, place in enumerate(ratings.places):
        rows.setdefault(place, []).append(row)
    found = [(place, agreed(ratings.grades[chosen])) for place, chosen in rows.items()]
    listed = [
        {"step": place[0], "side": place[1], "title": titles[place], "agreed": one.agreed, "of": one.pairs}
        for place, one in found
        if one.pairs and place in titles
    ]
    return sorted(listed, key=lambda one: (one["agreed"] / one["of"], -one["of"]))


def _coefficients(both: Floats, table: npt.NDArray[np.int64], scale: GradeScale) -> list[Figure]:
    """Return kappa and AC1 for two levels, their weighted forms for more: by the points that two levels differ in."""
    counts = counts_of(both[np.isfinite(both).all(axis=1)], len(table))
    if len(table) == 2:
        return [cohen_kappa(table), gwet_ac(counts)]
    shares = [level.share for level in scale.worth if level.share is not None]
    weights = distances(shares) if len(set(shares)) == len(shares) else linear(len(table))
    return [cohen_kappa(table, weights), gwet_ac(counts, weights)]


def figure_json(figure: Figure) -> dict[str, Any]:
    """Return a figure as plain JSON values."""
    return asdict(figure)


def figure_words(figure: Figure) -> str:
    """Say a coefficient in one line: its number with the interval, or why there is none."""
    name = figure.name[0].upper() + figure.name[1:]
    if figure.value is None:
        return f"{name}: not defined. {figure.note}"
    if figure.low is None or figure.high is None:
        return f"{name} {_two(figure.value)}. {figure.note}".strip()
    ends = f"95 % {_two(figure.low)} to {_two(figure.high)}"
    return f"{name} {_two(figure.value)}, {ends}. {figure.note}".strip()


def _two(number: float) -> str:
    """Write a number with two places, and no minus before 0."""
    return f"{number:.2f}" if abs(number) >= 0.005 else "0.00"


def share_words(figure: Figure) -> str:
    """Say a share in percent with its interval."""
    if figure.value is None:
        return figure.note
    if figure.low is None or figure.high is None:
        return f"{100 * figure.value:.0f} %"
    return f"{100 * figure.value:.0f} %, 95 % {100 * figure.low:.0f} to {100 * figure.high:.0f} %"


def _counted(found: Agreed, codes: tuple[str, str]) -> list[str]:
    if not found.pairs:
        return [f"{codes[0]} and {codes[1]} have not graded any step both, each before seeing the other's grade."]
    steps = "step" if found.pairs == 1 else "steps"
    return [f"The same grade on {found.agreed} of {found.pairs} {steps}: {share_words(found.share)}."]


def _leaning(table: npt.NDArray[np.int64], codes: tuple[str, str]) -> list[str]:
    """Say who gave the better grade where two part; levels go from the best down."""
    first, second = int(np.triu(table, 1).sum()), int(np.tril(table, -1).sum())
    if first + second == 0:
        return []
    return [f"{codes[0]} gave the better grade {_times(first)}, {codes[1]} {_times(second)}."]


def _times(count: int) -> str:
    return {0: "never", 1: "once", 2: "twice"}.get(count, f"{count} times")


def _few(count: int) -> list[str]:
    if count >= ENOUGH:
        return []
    return [f"A coefficient needs {ENOUGH} steps in common or more; with {count} the counts say all there is."]


def _left_out(ratings: Ratings, chosen: tuple[int, int], codes: tuple[str, str]) -> list[str]:
    told = []
    for own, other in ((0, 1), (1, 0)):
        both = np.isfinite(ratings.grades[:, chosen[other]]) | ratings.seen[:, chosen[other]]
        unjudged = int((ratings.unjudged[:, chosen[own]] & both).sum())
        if unjudged:
            told.append(
                f"{codes[own]} said {_times(unjudged)} that a step cannot be judged where {codes[other]} graded it."
            )
        late = int((ratings.seen[:, chosen[own]] & both).sum())
        if late:
            told.append(f"{codes[own]} gave a grade {_times(late)} after seeing others', which does not count here.")
    return told
