"""What grades add up to: worked by hand beside each case."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from review.domain.checklist import NOT_ASSESSABLE, Checklist
from review.domain.checklist_file import parse_checklist
from review.domain.model import Grade, Interval, Side
from review.domain.result import result_of

WHEN = datetime(2026, 3, 2, tzinfo=UTC)
HEAD = """
id = "s"
version = 1
title = "S"
summary = "S."
notice = "N."
[scale]
name = "Three"
levels = [
    { key = "done", word = "done", share = 1 },
    { key = "partly", word = "partly", share = 0.5 },
    { key = "missed", word = "missed", share = 0 },
]
"""
STEP = """
[[section.step]]
id = "%s"
title = "%s"
action = "A."
expected = "E."
caution = "C."
points = %s
%s
"""


def sheet(rule: str = "", **more: str) -> Checklist:
    """Make a sheet of two sections: a (4 points), b (2 points, critical); c (2 points on each of two sides)."""
    text = HEAD + rule + '[[section]]\nid = "one"\ntitle = "One"\n' + more.get("one", "")
    text += STEP % ("a", "A", 4, more.get("a", "")) + STEP % ("b", "B", 2, "critical = true")
    text += '[[section]]\nid = "two"\ntitle = "Two"\n' + more.get("two", "")
    return parse_checklist(text + STEP % ("c", "C", 2, 'sides = ["right", "left"]'), "s")


def grades(**levels: str) -> list[Grade]:
    """Give grades: `a="done"`, `c_right="missed"`, and `a__x` for the criterion x of a."""
    return [_grade(place, level) for place, level in levels.items()]


def _grade(place: str, level: str) -> Grade:
    where, _, criterion = place.partition("__")
    step, _, word = where.partition("_")
    side: Side | None = "right" if word == "right" else "left" if word == "left" else None
    return Grade(place, "r", step, side, criterion or None, level, None, "p", WHEN)


ALL = {"a": "done", "b": "done", "c_right": "partly", "c_left": "missed"}


def test_points_add_up_over_steps_and_sides() -> None:
    """4 + 2 + half of 2 + 0 of 10 points are 7: 70 percent."""
    result = result_of(sheet(), grades(**ALL))
    assert (result.total.won, result.total.possible, result.share) == (7.0, 10.0, 0.7)
    assert {name: one.won for name, one in result.sections.items()} == {"one": 6.0, "two": 1.0}


def test_what_is_not_assessable_leaves_the_sum() -> None:
    """Without a and its 4 points, 3 of 6 are half; the step is named."""
    result = result_of(sheet(), grades(**(ALL | {"a": NOT_ASSESSABLE})))
    assert (result.total.possible, result.share) == (6.0, 0.5)
    assert "Left out of the sum as not assessable: A." in result.reasons


def test_weights_of_steps_and_sections() -> None:
    """Step a counts three times: 12 + 2 of 14 in the first section, 1 of 4 in the second; 3 to 1 they give 0.8125."""
    weighted = sheet(one="weight = 3\n", two="weight = 1\n", a="weight = 3")
    result = result_of(weighted, grades(**ALL))
    assert result.total.possible == 18
    assert result.share == pytest.approx((3 * 1 + 0.25) / 4)


@pytest.mark.parametrize(
    ("rule", "given", "outcome", "words"),
    [
        ("", {**ALL}, "passed", "All critical steps are done (1)."),
        ("", {**ALL, "b": "missed"}, "not passed", "Critical step missed: B."),
        ("", {**ALL, "b": NOT_ASSESSABLE}, "open", "Critical step not assessable: B. It has to be shown again."),
        ("[pass]\nshare = 0.7\n", {**ALL}, "passed", "70 % reached: the whole sheet asks for 70 %."),
        ("[pass]\nshare = 0.71\n", {**ALL}, "not passed", "70 % reached: the whole sheet asks for 71 %."),
        ("[pass]\nshare = 0.7\n", {"b": "done"}, "open", "Between 20 % and 100 %, as not all is graded"),
        ("[pass]\nshare = 0.9\n", {"a": "missed"}, "not passed", "60 % at most: the whole sheet asks for 90 %."),
        ("[pass]\nshare = 0.5\n", {"a": "done", "b": "done"}, "passed", "60 % reached: the whole sheet asks for 50 %."),
        ("[pass]\ncritical = false\n", {**ALL, "b": "missed"}, "no rule", ""),
        ("[pass]\ncritical_level = 'done'\n", {**ALL, "b": "partly"}, "not passed", "Critical step missed: B."),
        ("[pass]\nsection_share = 0.5\n", {**ALL}, "not passed", "25 % reached: the section Two asks for 50 %."),
        ("[pass]\nshare = 0.5\n", {}, "open", "Critical step not graded yet: B."),
    ],
)
def test_the_pass_rule(rule: str, given: dict[str, str], outcome: str, words: str) -> None:
    """Share, critical steps, both, and shares of sections; what is not graded leaves it open until it cannot."""
    result = result_of(sheet(rule), grades(**given))
    assert result.outcome == outcome
    assert any(words in reason for reason in result.reasons) or not words


def test_a_section_with_a_share_of_its_own() -> None:
    """The second section asks for less than the rule asks of all."""
    result = result_of(sheet("[pass]\nsection_share = 0.5\n", two="pass_share = 0.25\n"), grades(**ALL))
    assert result.outcome == "passed"


CRITERIA = 'criteria = [{ id = "x", text = "X", points = 3 }, { id = "y", text = "Y", points = 1 }]\ncritical = true'


def test_criteria_with_points_give_the_step_its_points() -> None:
    """Of 3 and 1 points the first is won in full and the second in half; with y not assessable 3 of 3 are won."""
    made = sheet(a=CRITERIA)
    place = result_of(made, grades(a__x="done", a__y="partly")).places[0]
    assert (place.won, place.possible, place.open) == (3.5, 4.0, 0.0)
    place = result_of(made, grades(a__x="done", a__y=NOT_ASSESSABLE)).places[0]
    assert (place.won, place.possible) == (3.0, 3.0)
    place = result_of(made, grades(a__x="done")).places[0]
    assert (place.won, place.open) == (3.0, 1.0)


def test_the_grade_of_the_step_goes_before_those_of_its_criteria() -> None:
    """Whoever graded the step as a whole has said what it is worth."""
    assert result_of(sheet(a=CRITERIA), grades(a="partly", a__x="done", a__y="done")).places[0].won == 2.0


def test_a_critical_step_with_nothing_won_by_its_criteria_is_missed() -> None:
    """All criteria at the lowest level are as the lowest level of the step."""
    result = result_of(sheet(a=CRITERIA), grades(**{**ALL, "a": "done"}) + grades())
    assert result.outcome == "passed"
    rest = {place: level for place, level in ALL.items() if place != "a"}
    missed = result_of(sheet(a=CRITERIA), grades(**rest, a__x="missed", a__y="missed"))
    assert "Critical step missed: A." in missed.reasons
    assert (result.missed, missed.missed) == ((), ("A",))


def test_time_limits_are_told_and_count_only_where_the_rule_says_so() -> None:
    """Step a may take 5 s and took 8; from the first mark to the last 20 s went by where 15 are allowed."""
    marks = {("a", None): Interval(2.0, 10.0), ("b", None): Interval(12.0, 22.0)}
    late = "Took 8 s where 5 s are allowed: A."
    told = result_of(sheet(a="limit_s = 5"), grades(**ALL), marks)
    assert (told.outcome, late in told.reasons) == ("passed", True)
    counted = sheet("[pass]\ntime = true\n", a="limit_s = 5", one="limit_s = 15\n")
    failed = result_of(counted, grades(**ALL), marks)
    assert failed.outcome == "not passed"
    assert "Took 20 s where 15 s are allowed: the section One." in failed.reasons
    assert result_of(counted, grades(**ALL)).outcome == "open"
