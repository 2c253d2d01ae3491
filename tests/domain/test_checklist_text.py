"""Checklists written as text."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from review.checklists import shipped, shipped_checklists
from review.domain.checklist_file import KEYS, checklist_of, parse_checklist, read_checklist
from review.domain.checklist_text import text_of, values_of
from review.domain.errors import ChecklistRefused
from tests.domain.whole_sheet import WHOLE


def test_the_whole_sheet_uses_every_key() -> None:
    """What the other tests hold of this sheet holds of the whole format; share and high are told by other sheets."""
    names = {name for keys in KEYS.values() for name in keys} - {"high", "share"}
    assert {name for name in names if f"{name} = " not in WHOLE and f"{name}]" not in WHOLE} == set()


@pytest.mark.parametrize("name", [*sorted(shipped_checklists()), "whole"])
def test_the_written_text_reads_as_the_same_checklist(name: str) -> None:
    """A sheet, its text and its values are one and the same; writing again changes nothing."""
    sheet = parse_checklist(WHOLE, name) if name == "whole" else read_checklist(shipped(name))
    assert parse_checklist(text_of(sheet), "again") == sheet
    assert checklist_of(values_of(sheet), "again") == sheet
    assert text_of(parse_checklist(text_of(sheet), "again")) == text_of(sheet)


@given(st.text(st.characters(codec="utf-8"), min_size=1, max_size=40))
def test_any_title_is_written_so_that_it_can_be_read(title: str) -> None:
    """Quotes, backslashes and control signs are escaped as TOML asks."""
    values = values_of(parse_checklist(WHOLE, "whole"))
    try:
        sheet = checklist_of({**values, "title": title}, "x")
    except ChecklistRefused:
        assert not title.split()
        return
    assert parse_checklist(text_of(sheet), "x") == sheet


def test_a_newer_form_is_told_apart_from_faults() -> None:
    """A file of a form that is not known yet says so first."""
    with pytest.raises(ChecklistRefused, match=r"form is 3; expected up to 2\. A newer Runthrough wrote this file"):
        parse_checklist(WHOLE.replace("form = 2", "form = 3"), "x")


@pytest.mark.parametrize(
    ("written", "instead", "words"),
    [
        ("points = 3 }", "share = 1 }", "no points"),
        ("points = 0 },\n]", "points = 4 },\n]", "the points go 3, 2, 4"),
        ("points = 6", "points = 5", "points is 5, but the criteria add up to 6"),
        ('"Feet together", points = 4', '"Feet together"', "some criteria of this step carry points"),
        ("weight = 1", "", "this section has no weight, but others have"),
        ("weight = 2", "weight = 0", None),
        ('critical_level = "two"', 'critical_level = "four"', "No level of this scale is called 'four'"),
        ("share = 0.75", "share = 75", "expected a number from 0 to 1"),
        ("limit_s = 600", "limit_s = 0", "limit_s is 0"),
    ],
)
def test_faults_of_grading_are_named(written: str, instead: str, words: str | None) -> None:
    """Scales in points, criteria with points, weights, limits and the pass rule are held against each other."""
    text = WHOLE.replace(written, instead, 1)
    assert text != WHOLE
    if words is None:
        assert parse_checklist(text, "x").sections[0].weight == 0
        return
    with pytest.raises(ChecklistRefused) as refused:
        parse_checklist(text, "x")
    assert words in str(refused.value)


def test_points_left_out_follow_from_the_scale_or_the_criteria() -> None:
    """A step is worth its best level's points, or what its criteria add up to."""
    sheet = parse_checklist(WHOLE.replace("points = 6\n", ""), "x")
    assert [step.points for step in sheet.steps()] == [6.0, 3.0]
    assert [level.share for level in sheet.scale.worth] == [1.0, 2 / 3, 0.0]
    assert sheet.points == 6 * 0.5 + 3 * 2
