"""Check-off sheets in the shapes that schools have: read right on the first try, and the same after a round trip."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from review.checklists import shipped, shipped_checklists
from review.domain.checklist import Checklist, GradeLevel, Step
from review.domain.checklist_file import parse_checklist, read_checklist
from review.domain.errors import ChecklistRefused
from review.exchange.sheets.exporting import table_of
from review.exchange.sheets.grid import Grid, squared
from review.exchange.sheets.kinds import CHOICES
from review.exchange.sheets.levels import Level
from review.exchange.sheets.meaning import Said
from review.exchange.sheets.preview import Preview, demand_sheet, likeliest, preview
from review.exchange.sheets.roles import ROLES
from review.exchange.sheets.spreadsheet import TYPES, read_tables, written
from review.measures import units
from tests.domain.whole_sheet import WHOLE
from tests.exchange.sheet_shapes import SHAPES, Shape

UNITS = units()


def read(name: str, content: bytes) -> Preview:
    """Read a file as the import does at first, with nothing said by its author."""
    grids = read_tables(name, content)
    return preview(grids[likeliest(grids)], name, known_measures=UNITS)


def told(step: Step) -> list[Any]:
    """Say a step as `shapes.Expected` does."""
    facts: list[Any] = [step.title, step.points]
    facts += ["critical"] if step.critical else []
    return [*facts, *step.sides, *([criterion.text, criterion.points] for criterion in step.criteria)]


def worth(level: GradeLevel) -> float | None:
    """Return what a level is worth: points of the scale, else its share."""
    return level.share if level.points is None else level.points


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: shape.file)
def test_a_schools_sheet_is_read_right_on_the_first_try(shape: Shape) -> None:
    """Sections, steps, points, criteria, sides, critical steps, scale, pass rule and notes are as the author means."""
    found = read(shape.file, shape.content())
    assert [str(fault) for fault in found.faults] == []
    sheet = demand_sheet(found, shape.file)
    expected = shape.expected
    assert sheet.title == expected.title
    assert {section.title: [told(step) for step in section.steps] for section in sheet.sections} == expected.sections
    assert [(level.word, worth(level)) for level in sheet.scale.worth] == expected.levels
    assert (sheet.rule.share, sheet.limit_s, list(sheet.notes)) == (expected.share, expected.limit_s, expected.notes)
    assert sheet.scale.levels[-1].word == expected.hidden
    assert not [remark for remark in found.made.remarks if "states a total" in remark]


@pytest.mark.parametrize("kind", TYPES)
@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: shape.file)
def test_an_imported_sheet_is_the_same_after_a_round_trip(shape: Shape, kind: str) -> None:
    """Written as a table and read again without a word from anybody, the checklist is equal."""
    sheet = demand_sheet(read(shape.file, shape.content()), shape.file)
    assert trip(sheet, kind) == sheet


def trip(sheet: Checklist, kind: str) -> Checklist:
    """Write a checklist as a file and read that."""
    content = written(kind, sheet.title, *table_of(sheet))
    return replace(demand_sheet(read(f"again.{kind}", content), f"again.{kind}"), version=sheet.version)


@pytest.mark.parametrize("kind", TYPES)
@pytest.mark.parametrize("name", sorted(shipped_checklists()))
def test_a_packaged_sheet_is_the_same_after_a_round_trip(name: str, kind: str) -> None:
    """Targets, findings, views and typed results come through as well."""
    sheet = read_checklist(shipped(name))
    assert trip(sheet, kind) == sheet


@pytest.mark.parametrize("kind", TYPES)
def test_everything_a_sheet_can_say_comes_through(kind: str) -> None:
    """Weights, limits, pass rule, notes, points of criteria, lists with lines in them, and text like a formula."""
    sheet = parse_checklist(WHOLE, "whole")
    assert trip(sheet, kind) == sheet


def test_a_table_says_what_was_assumed() -> None:
    """No scale, no cautions, a total that does not fit: each is told; nothing of it is a fault."""
    table = b"Step,Points\nWalks,2\nTurns,1\nTotal,5\n"
    found = read("gait.csv", table)
    words = " ".join(found.made.remarks)
    assert found.faults == ()
    assert "done / not done is taken" in words
    assert "Without a caution of their own: 2 of 2 steps." in words
    assert "Row 4 states a total of 5; the steps add up to 3 points." in words


def test_the_author_has_the_last_word() -> None:
    """Columns, rows, headings, the scale and the usual sentences are what the author says they are."""
    grid = read_tables("x.csv", b"A,B,C\nLook,2,Mind the eyes\nListen,3,\nThe end,,\n")[0]
    said = Said(
        head=1,
        roles={0: "step", 1: "points", 2: "caution"},
        kinds={3: "skip"},
        levels=(Level("seen", 1.0), Level("not seen", 0.0)),
        title="Senses",
        id="senses",
        caution="Ask first.",
    )
    sheet = demand_sheet(preview(grid, "x.csv", said, UNITS), "x.csv")
    assert (sheet.id, sheet.title) == ("senses", "Senses")
    assert [(step.title, step.points, step.caution) for step in sheet.steps()] == [
        ("Look", 2.0, "Mind the eyes"),
        ("Listen", 3.0, "Ask first."),
    ]
    assert [level.word for level in sheet.scale.worth] == ["seen", "not seen"]


def test_all_faults_of_a_table_are_named_at_once_with_their_rows() -> None:
    """Wrong points, sides, switches and limits, each with its cell; then what the checklist lacks, with its row."""
    table = b"Section,Step,Points,Side,Critical,Time limit (s)\nBalance,Stands,two,above,perhaps,long\n,Walks,1,R,x,0\n"
    found = read("faulty.csv", table)
    assert found.sheet is None
    with pytest.raises(ChecklistRefused) as refused:
        demand_sheet(found, "faulty.csv")
    assert str(refused.value).split("\n") == [
        "faulty.csv: 5 faults in this checklist; mend them and try again.",
        "  row 2, column C: 'two' came for points; expected a number such as 2.",
        "  row 2, column D: 'above' came for sides; expected right, left, both or an empty cell.",
        "  row 2, column E: 'perhaps' came for critical; expected yes, x, * or an empty cell.",
        "  row 2, column F: 'long' came; expected a number such as 2.",
        "  row 3: limit_s is 0; expected seconds above 0, or no limit_s for no limit.",
    ]


def test_of_several_worksheets_the_one_with_the_steps_is_taken() -> None:
    """A cover sheet before it does not matter."""
    grids = [Grid("Cover", (("Evening class", ""),)), read_tables("x.csv", b"Step,S,U\nLooks,,\nListens,,\n")[0]]
    assert likeliest(grids) == 1


def test_levels_that_do_not_fit_the_points_below_them_are_a_fault() -> None:
    """Where rows give points of their own to each level, their ratios must be those of the scale."""
    found = read("x.csv", b"Step,Full,Partial,None\nLooks,2,1,0\nListens,3,1,0\n")
    assert [str(fault) for fault in found.faults] == [
        "row 3, column B: 3, 1, 0 stand below the grades; expected shares of 1, 0.5, 0 as above."
    ]


WORDS = """
1|a|1.1|2.|Step|Points|S|U|3/2/1|S / U|Total 5|A. Balance|x|R, L|kind of row|step|section|criterion|Level|=1|*|two|id
(2 pts)|3 = done; 2 = partly|80 % to pass|Critical|Side|Time limit: 0 min|Note: look|0,5|Full|None
"""
CELLS = st.sampled_from(["", "Looks\na. up\nb. down", *re.split(r"[|\n]", WORDS)])


@given(
    st.lists(
        st.lists(CELLS | st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=5), min_size=4, max_size=4),
        min_size=1,
        max_size=8,
    ),
    st.dictionaries(st.integers(-2, 9), st.sampled_from(CHOICES), max_size=3),
    st.dictionaries(st.integers(-1, 5), st.sampled_from(sorted(ROLES)), max_size=3),
    st.none() | st.integers(-3, 12),
)
def test_any_table_makes_a_sheet_or_faults(
    rows: list[list[str]], kinds: dict[int, str], roles: dict[int, str], head: int | None
) -> None:
    """Whatever stands in a table and is said of it, there is a checklist that comes back the same, or faults."""
    grid = Grid("any", squared(rows))
    found = preview(grid, "any", Said(head=head, kinds=kinds, roles=roles), UNITS)
    assert (found.sheet is None) == bool(found.faults)
    if found.sheet is not None:
        assert trip(found.sheet, "csv") == found.sheet
