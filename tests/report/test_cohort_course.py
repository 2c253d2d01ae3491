"""The class page in a course: what was handed in, who was asked, and who sees whose grades."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from review.actions.assigning import assign
from review.actions.grades import give
from review.domain.errors import NotAllowed, NotFound
from review.domain.model import Person
from review.report.cohort import cohort
from review.store.home import Home
from review.store.repository import repository
from tests.store import made
from tests.teaching import COURSE, cast_of, hand_in, teach

TODAY = date(2026, 3, 20)

Taught = tuple[Home, dict[str, Person], list[str]]


@pytest.fixture
def taught(tmp_path: Path) -> Taught:
    """Make a course with three attempts of two learners; I-02 is asked for the first, and graded it."""
    home = teach(tmp_path / "home", second_share=0.0)
    with repository(home) as repo:
        people = cast_of(repo)
        films = [hand_in(repo, people[code], number) for number, code in enumerate(("L-01", "L-01", "L-02"), start=1)]
        repo.add_recording(made.recording("99d4d5", added_by=people["L-01"].id))
        assign(repo, people["I-01"], films[:2], "I-02")
        give(repo, people["I-02"], repo.recording(films[0]), "romberg", None, "yes", confidence=3)
    return home, people, films


def told(taught: Taught, code: str, **asked: Any) -> dict[str, Any]:
    """Return what the page tells somebody."""
    return cohort(taught[0], taught[1][code], today=TODAY, **asked)


def test_what_waits_names_who_was_asked(taught: Taught) -> None:
    """Handed in and without a grade of who was asked, oldest first; what is not handed in is not there."""
    rows = told(taught, "I-01")["waiting"]
    assert [(one["recording"], one["words"]) for one in rows] == [
        (taught[2][1], "asked: I-02"),
        (taught[2][2], "nobody is asked"),
    ]
    assert rows[0]["since"].startswith("2026-03-05")


def test_a_grade_of_somebody_else_does_not_end_the_waiting(taught: Taught) -> None:
    """I-02 was asked: I-03's grade leaves the attempt in the list."""
    home, people, films = taught
    with repository(home) as repo:
        give(repo, people["I-03"], repo.recording(films[1]), "romberg", None, "yes", confidence=3)
        give(repo, people["I-03"], repo.recording(films[2]), "romberg", None, "yes", confidence=3)
    assert [one["recording"] for one in told(taught, "I-01")["waiting"]] == [films[1]]


def test_who_has_no_part_in_an_attempt_sees_its_grades_in_the_class(taught: Taught) -> None:
    """I-01 neither grades nor is asked: the grade counts; once asked as well, it is covered until I-01 has graded."""
    home, people, films = taught
    whole = told(taught, "I-01")
    assert (whole["graded"], whole["covered"]) == (1, 0)
    with repository(home) as repo:
        assign(repo, people["I-02"], [films[0]], "I-01")
    asked = told(taught, "I-01")
    assert (asked["graded"], asked["covered"]) == (0, 1)
    with repository(home) as repo:
        give(repo, people["I-01"], repo.recording(films[0]), "romberg", None, "not_yet", confidence=3)
    after = told(taught, "I-01")
    assert (after["graded"], after["covered"]) == (1, 0)
    assert [(one["agreed"], one["of"]) for one in after["steps"] if one["step"] == "romberg"] == [(0, 1)]


def test_a_course_is_for_those_who_teach_it(taught: Taught) -> None:
    """Learners are refused; a course that one does not teach is unknown; who can be asked is told."""
    assert told(taught, "I-03")["instructors"] == ["I-01", "I-02", "I-03"]
    assert told(taught, "I-03", course=COURSE)["course"] == COURSE
    with pytest.raises(NotFound, match=COURSE):
        told(taught, "I-03", course="morning")
    with pytest.raises(NotAllowed, match="owner of a course"):
        told(taught, "L-01")
