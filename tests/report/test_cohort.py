"""A class over its attempts: what waits, shares with their interval, who stands where; and what stays covered."""

from __future__ import annotations

import csv
import io
import json
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from review.actions import checklists, grades, people, standards
from review.actions.uncovering import uncover
from review.domain.checklist import Checklist
from review.domain.errors import NotAllowed, NotFound
from review.domain.model import Grade, Person, Recording, Role
from review.domain.result import result_of
from review.exchange.class_columns import CLASS_TABLES
from review.report.class_cut import FEW_LEARNERS
from review.report.class_files import class_csv
from review.report.cohort import cohort
from review.store.home import Home, find_home
from review.store.repository import Repository, reading, repository
from tests.counting import statements
from tests.store.made import WHEN, recording

STEPS = ("consent_safety", "place_ready", "position_guard", "eyes_open", "eyes_closed", "result")
FOUR = {"L-01": "yyyyyy", "L-02": "yyynyn", "L-03": "ynynnn", "L-04": "nnn-nn"}
"""Grades that I-02 gave four learners: the further down, the fewer are done."""

_LEVELS = {"y": "yes", "n": "not_yet", "-": "not_assessable"}
TODAY = date(2026, 3, 12)

Class = tuple[Home, dict[str, Person]]


def attempt(repo: Repository, learner: Person, number: int = 1) -> Recording:
    """Add an attempt of a learner; each further one a week later."""
    film = recording(
        f"{learner.code[2:]}{number}abc",
        name=f"Fenwick Shore, {learner.code}",
        checklist_id="balance_only",
        checklist_version=1,
        added_by=learner.id,
        added_at=WHEN + timedelta(days=7 * (number - 1)),
        attempt=number,
    )
    repo.add_recording(film)
    return film


def give(repo: Repository, who: Person, film: Recording, row: str) -> None:
    """Give the six steps their grades: y, n, - for not assessable, . for none."""
    for step, level in zip(STEPS, row, strict=True):
        if level in _LEVELS:
            grades.give(repo, who, film, step, None, _LEVELS[level], confidence=3)


@pytest.fixture
def four(tmp_path: Path) -> Class:
    """Make a class of four with one attempt each, graded by I-02; a fifth has one that nobody graded."""
    home = find_home(tmp_path / "home")
    with repository(home) as repo:
        checklists.install_shipped(repo)
        codes = {**dict.fromkeys([*FOUR, "L-05"], Role.LEARNER), "I-02": Role.INSTRUCTOR, "I-03": Role.INSTRUCTOR}
        cast = {code: people.ensure(repo, code, role) for code, role in codes.items()}
        for code, row in FOUR.items():
            give(repo, cast["I-02"], attempt(repo, cast[code]), row)
        attempt(repo, cast["L-05"])
    return home, cast


def step(told: dict[str, Any], name: str) -> dict[str, Any]:
    """Return the row of a step."""
    return next(one for one in told["steps"] if one["step"] == name)


def learner(told: dict[str, Any], code: str) -> dict[str, Any]:
    """Return the row of a learner."""
    return next(one for one in told["learners"] if one["learner"] == code)


def test_shares_have_wilsons_interval(four: Class) -> None:
    """Three of four: 75 %, 95 % 30 to 95 % by the formula; what is not assessable counts as a grade of its own."""
    home, cast = four
    told = cohort(home, cast["I-02"], today=TODAY)
    json.dumps(told, allow_nan=False)
    consent = step(told, "consent_safety")
    assert [(one["kind"], one["count"]) for one in consent["kinds"]] == [
        ("fully", 3),
        ("not done", 1),
        ("not assessable", 0),
    ]
    fully = consent["kinds"][0]
    assert (fully["share"], fully["low"], fully["high"]) == pytest.approx((0.75, 0.3006, 0.9544), abs=5e-5)
    unseen = step(told, "eyes_open")
    assert (unseen["graded"], unseen["kinds"][2]["count"], unseen["mean"]) == (4, 1, pytest.approx(1 / 3))


def test_discrimination_is_the_correlation_with_the_rest(four: Class) -> None:
    """By hand for consent: r of (1, 1, 1, 0) with the rest's shares of points."""
    home, cast = four
    sheet_points = {"place_ready": 1, "position_guard": 4, "eyes_open": 2, "eyes_closed": 3, "result": 2}
    told = cohort(home, cast["I-02"], today=TODAY)
    points = {one["step"]: one["points"] for one in told["steps"]}
    rest = []
    for row in FOUR.values():
        judged = {name: level for name, level in zip(STEPS, row, strict=True) if level != "-" and name != STEPS[0]}
        won = sum(points[name] for name, level in judged.items() if level == "y")
        rest.append(won / sum(points[name] for name in judged))
    own, mean = [1, 1, 1, 0], sum(rest) / 4
    above = sum((x - 0.75) * (y - mean) for x, y in zip(own, rest, strict=True))
    below = (0.75 * sum((y - mean) ** 2 for y in rest)) ** 0.5
    assert set(sheet_points) < set(points)
    assert step(told, "consent_safety")["discrimination"]["value"] == pytest.approx(above / below)


def test_what_waits_stands_oldest_first(four: Class) -> None:
    """An attempt without an instructor's grade waits since its film was added; the learner's own changes nothing."""
    home, cast = four
    with repository(home) as repo:
        later = attempt(repo, cast["L-01"], 2)
        give(repo, cast["L-01"], later, "yyyyyy")
    told = cohort(home, cast["I-02"], today=TODAY)
    assert [(one["learner"], one["attempt"], one["days"]) for one in told["waiting"]] == [
        ("L-05", 1, 10),
        ("L-01", 2, 3),
    ]
    with repository(home) as repo:
        give(repo, cast["I-03"], later, "y.....")
    assert [one["learner"] for one in cohort(home, cast["I-02"], today=TODAY)["waiting"]] == ["L-05"]


def test_learners_stand_by_the_sheets_rule(four: Class) -> None:
    """What is, with the critical steps that were missed, and the last attempt that passed; no word of what will be."""
    home, cast = four
    with repository(home) as repo:
        give(repo, cast["I-02"], attempt(repo, cast["L-01"], 2), "yynyyy")
    told = cohort(home, cast["I-02"], today=date(2026, 3, 18))
    first = learner(told, "L-01")
    assert (first["outcome"], first["attempt"], first["last_good"]["attempt"]) == ("not passed", 2, 1)
    assert first["critical"] == ["Feet together, examiner on guard"]
    assert first["words"].endswith("Attempt 1 passed, 16 days ago.")
    last = learner(told, "L-04")
    assert last["words"].startswith("Attempt 1 does not pass by the sheet's rule yet")
    assert "Feet together, examiner on guard" in last["critical"]
    assert learner(told, "L-05")["words"] == "No attempt has an instructor's grade yet."


def test_what_another_instructor_gave_stays_covered(four: Class) -> None:
    """I-03, who graded nothing, is told how many grades there are and no more; what is uncovered counts."""
    home, cast = four
    told = cohort(home, cast["I-03"], today=TODAY)
    assert (told["steps"], told["covered"]) == ([], 24)
    assert all(one["outcome"] is None for one in told["learners"])
    assert len(told["waiting"]) == 1
    with repository(home) as repo:
        uncover(repo, cast["I-03"], repo.recording("011abc"))
    told = cohort(home, cast["I-03"], today=TODAY)
    assert (step(told, "result")["graded"], told["covered"]) == (1, 18)
    assert learner(told, "L-01")["outcome"] is not None
    assert learner(told, "L-02")["covered"] == 6


def test_of_several_instructors_the_last_grade_counts_and_pairs_are_told(four: Class) -> None:
    """I-03 grades L-01 blind after I-02: the step has I-03's grade, and one pair of two grades that part."""
    home, cast = four
    with repository(home) as repo:
        give(repo, cast["I-03"], repo.recording("011abc"), "n.....")
    told = cohort(home, cast["I-02"], today=TODAY)
    row = step(told, "consent_safety")
    assert (row["kinds"][0]["count"], row["agreed"], row["of"]) == (2, 0, 1)


def test_the_newest_graded_attempt_counts_or_all(four: Class) -> None:
    """A second attempt of L-01 stands in for the first; with all, both count, and the words say what that does."""
    home, cast = four
    with repository(home) as repo:
        give(repo, cast["I-02"], attempt(repo, cast["L-01"], 2), "nyyyyy")
    assert step(cohort(home, cast["I-02"], today=TODAY), "consent_safety")["kinds"][0]["count"] == 2
    told = cohort(home, cast["I-02"], which="all", today=TODAY)
    assert step(told, "consent_safety")["kinds"][0]["count"] == 3
    assert "5 attempts of 4 learners" in " ".join(told["words"])
    assert "too narrow" in " ".join(told["words"])
    assert "Fewer than 10 learners" in " ".join(told["words"])


def test_a_learner_may_not_see_the_class(four: Class) -> None:
    """The class is for instructors; a choice that is not there is told with those there are."""
    home, cast = four
    with pytest.raises(NotAllowed, match="see this course as a whole"):
        cohort(home, cast["L-01"])
    with pytest.raises(NotFound, match="balance_only"):
        cohort(home, cast["I-02"], checklist="knee")
    with pytest.raises(NotFound, match="newest"):
        cohort(home, cast["I-02"], which="best")


def test_tables_say_what_the_page_says(four: Class) -> None:
    """Each table has the rows of the page, every column is in the codebook, and an unknown table is named."""
    home, cast = four
    told = cohort(home, cast["I-02"], today=TODAY)
    read = {name: list(csv.DictReader(io.StringIO(class_csv(told, name)[1]))) for name in CLASS_TABLES}
    assert [len(rows) for rows in read.values()] == [1, len(told["steps"]), 5, 2]
    assert read["steps"][0]["fully"] == "3"
    assert float(read["steps"][0]["fully_share_low"]) == pytest.approx(0.3006, abs=5e-5)
    assert read["learners"][4]["words"] == "No attempt has an instructor's grade yet."
    book = list(csv.DictReader(io.StringIO(class_csv(told, "codebook")[1])))
    named = {(one["table"], one["column"]) for one in book}
    assert {(table.name, column.name) for table in CLASS_TABLES.values() for column in table.columns} <= named
    with pytest.raises(NotFound, match="waiting"):
        class_csv(told, "grades")


def test_cut_scores_say_what_they_rest_on(four: Class) -> None:
    """Ratings of three attempts give a line; two judges of every step give Angoff's cut; both say: too few learners."""
    home, cast = four
    with repository(home) as repo:
        for code, rating in (("L-01", 4), ("L-02", 3), ("L-03", 2)):
            standards.rate(repo, cast["I-02"], repo.recording(f"{code[2:]}1abc"), rating)
        places = repo.checklist("balance_only").titles()
        for code, chance in (("I-02", 0.5), ("I-03", 0.7)):
            standards.expect(repo, cast[code], None, "balance_only", dict.fromkeys(places, chance))
    cut = cohort(home, cast["I-02"], today=TODAY)["cut"]
    totals = [
        100
        * result_of(told_sheet(home), [one for one in given if one.person_id == cast["I-02"].id]).total.won
        / told_sheet(home).points
        for given in (_grades(home, f"{code[2:]}1abc") for code in ("L-01", "L-02", "L-03"))
    ]
    line = np.polyfit([4, 3, 2], totals, 1)
    assert cut["regression"]["value"] == pytest.approx(float(np.polyval(line, 2)))
    assert (cut["angoff"]["value"], cut["angoff"]["count"]) == (pytest.approx(60.0), 2)
    assert cut["angoff"]["words"][0].startswith("Cut at 60 % of the points")
    assert FEW_LEARNERS in cut["angoff"]["words"]
    assert [one["rating"] for one in cut["rated"]] == [4, 3, 2, None]
    assert {one["chance"] for one in cut["expected"]} == {50.0}


def told_sheet(home: Home) -> Checklist:
    """Return the sheet of the class."""
    with reading(home) as repo:
        return repo.checklist("balance_only")


def _grades(home: Home, recording_id: str) -> tuple[Grade, ...]:
    with reading(home) as repo:
        return repo.grades(recording_id)


def test_one_judge_gives_no_cut(four: Class) -> None:
    """Before there is anything to rest on, each method says what it needs."""
    home, cast = four
    cut = cohort(home, cast["I-02"], today=TODAY)["cut"]
    assert (cut["angoff"]["value"], cut["regression"]["value"]) == (None, None)
    assert "At least three learners" in " ".join(cut["regression"]["words"])
    assert "Every step was judged by: nobody." in cut["angoff"]["words"]


def test_an_empty_home_says_what_to_do_first(tmp_path: Path) -> None:
    """Without attempts there is one sentence, and tables with their header alone."""
    home = find_home(tmp_path / "home")
    with repository(home) as repo:
        teacher = people.ensure(repo, "I-02", Role.INSTRUCTOR)
    told = cohort(home, teacher)
    assert "added on the page Recordings" in told["empty"]
    assert class_csv(told, "steps")[1].count("\r\n") == 1


def test_the_number_of_queries_does_not_grow_with_the_class(four: Class) -> None:
    """Twice as many attempts are read with as many statements."""
    home, cast = four
    with statements() as before:
        cohort(home, cast["I-02"], today=TODAY)
    with repository(home) as repo:
        for code in FOUR:
            give(repo, cast["I-02"], attempt(repo, cast[code], 2), "yyyyyy")
    with statements() as after:
        cohort(home, cast["I-02"], today=TODAY)
    assert len(after) == len(before) <= 16
