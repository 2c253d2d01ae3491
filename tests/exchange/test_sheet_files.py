"""Tables as files: encodings, separators, what hides in workbooks, and what spreadsheets would run."""

from __future__ import annotations

import io
import zipfile
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import load_workbook

from review.domain.errors import ChecklistRefused
from review.exchange.sheets.delimited import read_delimited, write_delimited
from review.exchange.sheets.grid import MOST_BYTES, MOST_COLUMNS, MOST_ROWS
from review.exchange.sheets.spreadsheet import read_tables
from review.exchange.sheets.workbook import read_workbook, write_workbook
from tests.exchange.sheet_shapes import as_csv, as_xlsx

TABLE = [
    ["Nr", "Schritt; Prüfung", "Punkte, voll"],
    ["1", "Füße zusammen «steht»", "0,5"],
    ["2", 'Er sagt "ja"', "1,5"],
]


@pytest.mark.parametrize("separator", [",", ";", "\t"], ids=["comma", "semicolon", "tab"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "windows-1252"])
def test_csv_is_read_in_every_encoding_and_with_every_separator(encoding: str, separator: str) -> None:
    """Cells with the other separators, quotes and letters of other languages come out as they went in."""
    assert read_delimited("x.csv", as_csv(TABLE, separator, encoding)).rows == tuple(map(tuple, TABLE))


def test_a_first_line_names_the_separator() -> None:
    """`sep=;`, as some spreadsheets write it, is no row."""
    assert read_delimited("x.csv", b"sep=;\r\na,b;c\r\n").rows == (("a,b", "c"),)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"a,b\n1,\x81\xff\n", "line 2: here the file is neither UTF-8 nor Windows-1252"),
        (b'a,b\n1,2\n3,"open\n4,5\n', "row 3: no CSV from here on"),
        (b"\x00\x01\x02", "this is no text"),
        (b"", "the file is empty"),
        (b"\n,,\n", "the file is empty"),
        (b"\xd0\xcf\x11\xe0old", "save it as XLSX without a password"),
        (b"PK\x03\x04broken", "is no workbook in XLSX that can be read"),
        (b"a" * (MOST_BYTES + 1), "is bigger than"),
        (b"a\n" * (MOST_ROWS + 1), f"expected a check-off sheet of at most {MOST_ROWS} rows"),
        (b"a," * MOST_COLUMNS + b"a\n", f"{MOST_COLUMNS + 1} columns"),
    ],
    ids=["encoding", "quote", "binary", "empty", "blank", "old", "broken", "bytes", "rows", "columns"],
)
def test_what_is_no_table_is_refused_in_a_sentence(content: bytes, words: str) -> None:
    """One fault that says what came, what was expected and what to do."""
    with pytest.raises(ChecklistRefused) as refused:
        read_tables("x", content)
    assert words in str(refused.value)
    assert len(refused.value.faults) == 1


def packed(**parts: bytes) -> bytes:
    """Pack parts of a workbook."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name.replace("__", "/") + ".xml", content)
    return out.getvalue()


def test_a_workbook_that_unpacks_to_far_too_much_is_refused_before_it_is_unpacked() -> None:
    """A few kilobytes that hold a hundred megabytes, and thousands of parts."""
    bomb = packed(xl__workbook=b"0" * 100_000_000)
    assert len(bomb) < 200_000
    with pytest.raises(ChecklistRefused, match="unpacks to 1 parts of 100000000 bytes"):
        read_workbook("bomb.xlsx", bomb)
    with pytest.raises(ChecklistRefused, match="unpacks to 1500 parts"):
        read_workbook("parts.xlsx", packed(**{f"part{number}": b"" for number in range(1500)}))


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_a_workbook_with_entities_of_its_own_is_refused(encoding: str) -> None:
    """Entities that stand for ever more entities are not followed."""
    laughs = '<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "ha"><!ENTITY c "&b;&b;">]><a>&c;</a>'
    with pytest.raises(ChecklistRefused, match="declares entities of its own"):
        read_workbook("laughs.xlsx", packed(xl__workbook=laughs.encode(encoding)))


def test_dates_and_uncomputed_formulas_of_a_workbook_are_named_with_their_cells() -> None:
    """A spreadsheet makes a date of 3/2/1; a formula nobody computed has no value."""
    (grid,) = read_workbook("x.xlsx", as_xlsx([["Step", "Score"], ["Looks", date(2001, 3, 2)], ["Listens", "=1+1"]]))
    told = [str(fault) for fault in grid.faults]
    assert [words.partition(":")[0] for words in told] == ["row 2, column B", "row 3, column B"]
    assert "turn texts such as 3/2/1 into dates" in told[0]
    assert "a formula without a kept result" in told[1]


def test_numbers_and_shares_of_a_workbook_are_read_as_they_are_shown() -> None:
    """Whole numbers have no point, fractions keep all digits, percent stays percent."""
    (grid,) = read_workbook("x.xlsx", as_xlsx([[1, 0.75, 0.8, True]], formats={"C1": "0%"}))
    assert grid.rows == (("1", "0.75", "80 %", "yes"),)


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@x", "\t=1", "'=1", "''-x", "it's", "'tis"])
def test_no_text_is_written_as_a_formula_and_all_come_back(text: str) -> None:
    """In CSV an apostrophe guards what a spreadsheet would run; in a workbook such a cell is text."""
    content = write_delimited([["x", text]])
    assert not content.decode("utf-8-sig").split(",")[1].strip('"').startswith(("=", "+", "-", "@", "\t", "\r"))
    assert read_delimited("x.csv", content).rows[0][1] == text
    book = write_workbook("x", [["x", text]], ())
    assert load_workbook(io.BytesIO(book)).active["B1"].data_type == "s"
    assert read_workbook("x.xlsx", book)[0].rows[0][1] == text


@given(
    st.lists(
        st.lists(st.text(st.characters(codec="utf-8", exclude_characters="\0\r"), max_size=12), min_size=2, max_size=4),
        min_size=1,
        max_size=5,
    )
)
def test_any_text_comes_back_out_of_csv(rows: list[list[str]]) -> None:
    """Quotes, separators, line ends and signs of formulas in cells do not change them."""
    table = [["head", "of", "the", "table"], *[[*row, *["-"] * (4 - len(row))] for row in rows], ["the"] * 4]
    assert read_delimited("x.csv", write_delimited(table)).rows == tuple(map(tuple, table))
