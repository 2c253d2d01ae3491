"""Comma-separated values: RFC 4180 both ways, no formula gets through, the codebook names every column."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from review.exchange.columns import CODEBOOK, TABLES, Column, Table, codebook
from review.exchange.csv_text import guarded, read_csv, unguarded, write_csv
from review.exchange.table_reading import read_table
from tests.exchange.said import AT, LEARNER, SUM, uuid

MANUAL = Path(__file__).parents[2] / "docs" / "exchange.md"
WORDS = Table("words", "a word", (Column("a", "text", "", ""), Column("b", "text", "", "")))


@pytest.mark.parametrize(
    ("text", "row"),
    [
        ("a,b,c\r\naaa,bbb,ccc\r\n", {"a": "aaa", "b": "bbb", "c": "ccc"}),
        ("a,b,c\r\naaa,bbb,ccc", {"a": "aaa", "b": "bbb", "c": "ccc"}),
        ('a,b,c\r\n"aaa","bbb","ccc"\r\n', {"a": "aaa", "b": "bbb", "c": "ccc"}),
        ('a,b,c\r\n"aaa","b\r\nbb","ccc"\r\n', {"a": "aaa", "b": "b\r\nbb", "c": "ccc"}),
        ('a,b,c\r\n"aaa","b""bb","ccc"\r\n', {"a": "aaa", "b": 'b"bb', "c": "ccc"}),
    ],
    ids=["rules 1 and 3", "rule 2", "rule 5", "rule 6", "rule 7"],
)
def test_examples_of_the_standard(text: str, row: dict[str, str]) -> None:
    """RFC 4180, section 2: line breaks, a last line without one, quotes, breaks and quotes within quotes."""
    assert [found for _, found in read_csv(text)] == [row]


@pytest.mark.parametrize(
    "text",
    ["", "a,b\r\n1,2,3\r\n", 'a,b\r\n"1,2\r\n', 'a,b\r\n"1"x,2\r\n'],
    ids=["empty", "cells", "open quote", "after"],
)
def test_broken_forms_are_told(text: str) -> None:
    """A missing header, too many cells, a quote that is not closed and text after one are faults."""
    with pytest.raises(ValueError, match=r"header|cells|line 2"):
        read_csv(text)


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@x", "\t=1", "\r=1", "\n=1", "'=1", "\uff1d1"])
def test_no_formula_gets_through(text: str) -> None:
    """What a spreadsheet would take for a formula begins with an apostrophe."""
    assert guarded(text) == f"'{text}"


@given(st.text(), st.text())
def test_every_text_comes_back(first: str, second: str) -> None:
    """Any two texts come back as they were; no cell begins with a character that makes a formula."""
    written = write_csv(WORDS, [{"a": first, "b": second}])
    assert [row for _, row in read_csv(written)] == [{"a": first, "b": second}]
    cells = list(csv.reader(io.StringIO(written, newline="")))[1]
    assert not [cell for cell in cells if cell[:1] in tuple("=+-@\t\r\n")]
    assert unguarded(guarded(first)) == first


def test_numbers_are_no_formulas() -> None:
    """Seconds have three decimals, numbers all of theirs and their sign, moments a zone, truth is yes or no."""
    columns = (
        Column("s", "number", "s", ""),
        Column("x", "number", "", ""),
        Column("n", "integer", "", ""),
        Column("t", "yes or no", "", ""),
        Column("at", "moment", "", ""),
        Column("none", "number", "", ""),
    )
    row = {"s": 4.0666667, "x": -0.1, "n": -3, "t": True, "at": datetime(2026, 5, 4, 10, tzinfo=UTC), "none": None}
    text = write_csv(Table("t", "", columns), [row])
    assert text == "s,x,n,t,at,none\r\n4.067,-0.1,-3,yes,2026-05-04T10:00:00.000000Z,\r\n"


def test_the_codebook_names_every_column() -> None:
    """Each column of each table has one row with kind and meaning; times stand in seconds and in milliseconds."""
    named = {(row["table"], row["column"]) for row in codebook()}
    assert named == {(table.name, one.name) for table in (*TABLES.values(), CODEBOOK) for one in table.columns}
    assert all(row["meaning"] and row["kind"] for row in codebook())
    seconds = {row["column"] for row in codebook() if row["unit"] == "s"}
    assert {re.sub(r"_s$", "_ms", name) for name in seconds} <= {
        row["column"] for row in codebook() if row["unit"] == "ms"
    }


def test_the_manual_names_every_column() -> None:
    """docs/exchange.md has each column of each table, and no table more."""
    told = MANUAL.read_text("utf-8")
    missing = [one.name for table in TABLES.values() for one in table.columns if f"`{one.name}`" not in told]
    assert missing == []
    assert {name for name in re.findall(r"`(\w+)\.csv`", told)} == {*TABLES, CODEBOOK.name}


def mark_row(**changes: object) -> dict[str, object]:
    """Return a row of the table of marks."""
    usual: dict[str, object] = {
        "schema_version": 1,
        "film_sha256": SUM,
        "recording_id": "0a76",
        "recording_name": "Lab",
        "attempt": 1,
        "checklist_id": "balance_only",
        "checklist_version": 1,
        "mark_id": uuid(1),
        "step_id": "eyes_open",
        "step_title": "Eyes open",
        "side": None,
        "rater": LEARNER.code,
        "role": LEARNER.role,
        "onset_s": 5.2,
        "onset_ms": 5200,
        "offset_s": 24.2,
        "offset_ms": 24200,
        "marked_at": AT,
    }
    return {**usual, **changes}


def test_all_faults_of_a_table_are_told_at_once() -> None:
    """Each row that cannot be read is one fault with its line; the others are read."""
    rows = [
        mark_row(),
        mark_row(mark_id="7"),
        mark_row(onset_ms=5300),
        mark_row(side="both"),
        mark_row(film_sha256="abc"),
        mark_row(schema_version=2),
    ]
    heard = read_table(write_csv(TABLES["marks"], rows))
    assert [fault.partition(":")[0] for fault in heard.faults] == [f"line {number}" for number in range(3, 8)]
    assert "change both or none" in heard.faults[1]
    assert [one.id for _, one in heard.marks] == [uuid(1)]


def test_columns_may_be_moved_and_added_but_not_lost() -> None:
    """A spreadsheet may have put the columns in another order; one that is missing is named."""
    lines = write_csv(TABLES["marks"], [mark_row()]).splitlines()
    turned = "\r\n".join(",".join(["more", *reversed(line.split(","))]) for line in lines)
    assert len(read_table(turned).marks) == 1
    lost = replace(TABLES["marks"], columns=tuple(one for one in TABLES["marks"].columns if one.name != "onset_ms"))
    assert read_table(write_csv(lost, [mark_row()])).faults == [
        "line 1: these are not the columns of marks.csv; missing: onset_ms"
    ]
