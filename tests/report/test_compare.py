"""Grades side by side and how alike people grade: blind first, counts first, and what is covered is not told."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from review.actions import checklists, comments, grades
from review.actions.uncovering import uncover
from review.domain.errors import NotFound
from review.domain.model import Person, Recording, Role
from review.report.compare import compare
from review.store.home import Home, find_home
from review.store.repository import repository
from tests.graded import furnish

Furnished = tuple[Home, dict[str, Person], list[Recording]]


@pytest.fixture(scope="module")
def furnished(tmp_path_factory: pytest.TempPathFactory) -> Furnished:
    """Three attempts of L-07, graded by L-07, a peer and two instructors."""
    return furnish(tmp_path_factory.mktemp("compare") / "home")


@pytest.fixture
def own(tmp_path: Path) -> Furnished:
    """Make the same anew, to be changed."""
    return furnish(tmp_path / "home")


def row(told: dict[str, Any], step: str) -> dict[str, Any]:
    """Return the row of a step."""
    return next(one for one in told["attempt"]["rows"] if one["step"] == step)


def pair(told: dict[str, Any], *codes: str) -> dict[str, Any]:
    """Return what is told of two people."""
    return next(one for one in told["pairs"] if [who["code"] for who in one["people"]] == list(codes))


def test_grades_stand_side_by_side(furnished: Furnished) -> None:
    """A column a person, the learner first; where they part both comments and the second of the film are told."""
    home, cast, films = furnished
    told = compare(home, cast["L-07"], recording=films[1].id)
    json.dumps(told, allow_nan=False)
    assert [(one["code"], one["own"]) for one in told["attempt"]["raters"]] == [
        ("L-07", True),
        ("L-12", False),
        ("I-02", False),
        ("I-03", False),
    ]
    guard = row(told, "position_guard")
    assert [one["word"] for one in guard["grades"]] == ["yes", "not yet", "not yet", "not yet"]
    assert (guard["parted"], guard["at"], guard["critical"]) == (True, 7.0, True)
    assert [(one["person"], one["onset_s"], one["text"][:5]) for one in guard["comments"]] == [
        ("I-02", 9.0, "Stand"),
        ("L-07", 9.0, "I was"),
    ]
    assert not row(told, "consent_safety")["parted"]
    assert told["attempt"]["words"] == ["6 steps are graded by more than one person: on 3 the grades part."]


def test_what_is_covered_is_neither_told_nor_counted(own: Furnished) -> None:
    """A step that L-07 has not graded shows no grade or comment of others, and no coefficient rests on them."""
    home, cast, films = own
    before = compare(home, cast["L-07"], recording=films[2].id)
    covered = row(before, "eyes_closed")
    assert (covered["grades"], covered["covered"], covered["comments"]) == ([None, None, None], 2, [])
    assert pair(before, "I-02", "I-03")["of"] == 10
    with repository(home) as repo:
        comments.write(repo, cast["L-07"], films[2], 14.0, None, "My own.", "eyes_closed")
    known = row(compare(home, cast["L-07"], recording=films[2].id), "eyes_closed")["comments"]
    assert [one["text"] for one in known] == ["My own."]
    with repository(home) as repo:
        uncover(repo, cast["L-07"], films[2], "eyes_closed")
    after = compare(home, cast["L-07"], recording=films[2].id)
    assert [one and one["word"] for one in row(after, "eyes_closed")["grades"]] == [None, "yes", "yes"]
    assert [one["text"] for one in row(after, "eyes_closed")["comments"]] == ["My own.", "Count aloud."]
    assert pair(after, "I-02", "I-03")["of"] == 11


def test_one_who_graded_nothing_sees_nothing(own: Furnished) -> None:
    """For somebody new everything is covered: counts of covered grades, and no pair."""
    home, _, _ = own
    stranger = Person("p-new", "I-09", Role.INSTRUCTOR)
    with repository(home) as repo:
        repo.put_person(stranger)
    told = compare(home, stranger)
    assert (told["pairs"], told["everybody"], told["attempt"]["raters"], told["steps"]) == ([], None, [], [])
    assert told["attempt"]["covered"] == 17
    assert "17 grades of others are covered" in " ".join(told["attempt"]["words"])
    assert all(cell is None for one in told["attempt"]["rows"] for cell in one["grades"])


def test_counts_come_before_the_coefficient(furnished: Furnished) -> None:
    """The first sentence of a pair is counts with Wilson's interval; kappa that is 0 by one constant rater says so."""
    home, cast, _ = furnished
    words = pair(compare(home, cast["L-07"]), "L-07", "I-02")["words"]
    assert words[0] == "The same grade on 9 of 17 steps: 53 %, 95 % 31 to 74 %."
    assert words[1] == "L-07 gave the better grade 8 times, I-02 never."
    assert words[2].startswith("Cohen's kappa 0.00. One of the two gave the same grade every time")
    assert words[3].startswith("Gwet's AC1 0.26, 95 % ")


def test_few_steps_in_common_give_counts_only(furnished: Furnished) -> None:
    """Six steps in common are no ground for a coefficient, and the reason is said."""
    home, cast, _ = furnished
    found = pair(compare(home, cast["L-07"]), "L-12", "I-03")
    assert (found["of"], found["coefficients"]) == (6, [])
    assert "needs 10 steps in common" in " ".join(found["words"])
    assert found["totals"]["limits"] is None


def test_grades_after_seeing_others_do_not_count(own: Furnished) -> None:
    """L-12 gives in after seeing the others: it stands in the table with the grade before, and agreement keeps that."""
    home, cast, films = own
    with repository(home) as repo:
        grades.give(repo, cast["L-12"], films[0], "consent_safety", None, "not_yet", confidence=3)
    told = compare(home, cast["L-12"], recording=films[0].id)
    changed = next(one for one in row(told, "consent_safety")["grades"] if one and one["before"])
    assert (changed["word"], changed["before"]) == ("not yet", "yes")
    assert pair(told, "L-12", "I-02")["agreed"] == 8
    with repository(home) as repo:
        uncover(repo, cast["I-03"], films[0])
        grades.give(repo, cast["I-03"], films[0], "consent_safety", None, "not_yet", confidence=3)
    late = pair(compare(home, cast["I-02"], recording=films[0].id), "I-02", "I-03")
    assert late["of"] == 11
    assert "I-03 gave a grade once after seeing others', which does not count here." in late["left_out"]


def test_not_assessable_is_said_and_does_not_count(furnished: Furnished) -> None:
    """What one could not judge is no disagreement: it is told beside."""
    home, cast, _ = furnished
    left = pair(compare(home, cast["L-07"]), "L-07", "I-03")["left_out"]
    assert left == ["I-03 said once that a step cannot be judged where L-07 graded it."]


def test_several_raters_with_gaps(furnished: Furnished) -> None:
    """Four people with gaps: Krippendorff's alpha, nominal for two levels, after the counts."""
    home, cast, _ = furnished
    told = compare(home, cast["L-07"])["everybody"]
    assert told["words"][0].startswith(
        "4 people graded 17 steps in twos or more: 47 of 67 pairs of grades are the same"
    )
    assert told["coefficients"][0]["name"] == "Krippendorff's alpha, nominal"


def test_judging_oneself_over_attempts(furnished: Furnished) -> None:
    """Own less the instructor's in points of 100: all points against 8, 13 and 10 of those graded by both."""
    home, cast, _ = furnished
    told = compare(home, cast["L-07"])["calibration"]
    assert [round(one["apart"]) for one in told["attempts"]] == [60, 35, 33]
    assert [(one["higher"], one["lower"]) for one in told["attempts"]] == [(4, 0), (2, 0), (1, 0)]
    assert told["words"][0].startswith("From attempt 1 to 3 the difference went from +60 to +33 points of 100")
    assert "too kindly" in told["words"][1]


def test_steps_graded_least_alike_come_first(furnished: Furnished) -> None:
    """On position and guard people part most."""
    home, cast, _ = furnished
    shares = [one["agreed"] / one["of"] for one in compare(home, cast["L-07"])["steps"]]
    assert shares == sorted(shares)
    assert compare(home, cast["L-07"])["steps"][0]["step"] in ("position_guard", "place_ready", "result")


def test_ordered_levels_are_weighted(tmp_path: Path) -> None:
    """On a sheet of three levels kappa and AC are weighted by points, and alpha would be ordinal."""
    home, cast, films = furnish(tmp_path / "home")
    with repository(home) as repo:
        long = repo.checklist("neuro_screening")
        film = replace(films[0], checklist_id=long.id, checklist_version=long.version)
        repo.update_recording(film)
        steps = [(step.id, side) for step in long.steps() for side in step.places][:12]
        for place, (step, side) in enumerate(steps):
            grades.give(repo, cast["L-07"], film, step, side, ("full", "partly")[place % 2], confidence=2)
            grades.give(repo, cast["I-02"], film, step, side, ("full", "partly", "missed")[place % 3], confidence=2)
    told = pair(compare(home, cast["L-07"], checklist="neuro_screening"), "L-07", "I-02")
    assert [one["name"] for one in told["coefficients"]] == ["weighted kappa", "Gwet's AC2"]
    assert told["table"] == [[2, 2, 2], [2, 2, 2], [0, 0, 0]]


def test_unknown_attempts_are_named(furnished: Furnished) -> None:
    """A learner or an attempt that is not there is told with those that are."""
    home, cast, _ = furnished
    with pytest.raises(NotFound, match="L-07 balance_only"):
        compare(home, cast["L-07"], learner="L-99")
    with pytest.raises(NotFound, match="1a2b3c"):
        compare(home, cast["L-07"], recording="zzz")


def test_an_empty_home_says_what_to_do_first(tmp_path: Path) -> None:
    """Without attempts there is one sentence."""
    home = find_home(tmp_path / "home")
    with repository(home) as repo:
        checklists.install_shipped(repo)
        repo.put_person(Person("p", "L-01", Role.LEARNER))
    told = compare(home, Person("p", "L-01", Role.LEARNER))
    assert told["subject"] is None
    assert "Add a film on the page Recordings" in told["empty"]
