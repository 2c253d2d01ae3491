"""Comma-separated values: written by RFC 4180 with a guard against formulas, and read back.

A spreadsheet takes a cell that begins with ``=``, ``+``, ``-``, ``@`` or a control character for a formula, also where
the file gives it as text. Such a text is written with an apostrophe before it, and a text that begins with apostrophes
before such a character gets one more, so that reading takes off just what writing put on. Numbers are not touched.

References
----------
RFC 4180, Common Format and MIME Type for Comma-Separated Values (CSV) Files, section 2. The characters are those that
spreadsheets are known to take for the start of a formula (common practice, no source).
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable
from datetime import datetime
from typing import Any, Final

from review.exchange.columns import Column, Row, Table
from review.exchange.said import moment_text

MEDIA_TYPE: Final = "text/csv; charset=utf-8; header=present"

_STARTS: Final = "=+\\-@\t\r\n\uff1d\uff0b\uff0d\uff20"
_FORMULA: Final = re.compile(rf"'*[{_STARTS}]")
_GUARDED: Final = re.compile(rf"'+[{_STARTS}]")


def guarded(text: str) -> str:
    """Return a text that no spreadsheet takes for a formula.

    Examples
    --------
    >>> guarded("=1+1"), guarded("'=1+1"), guarded("it's 1+1")
    ("'=1+1", "''=1+1", "it's 1+1")
    """
    return f"'{text}" if _FORMULA.match(text) else text


def unguarded(text: str) -> str:
    """Return a text as it was before `guarded`."""
    return text[1:] if _GUARDED.match(text) else text


def write_csv(table: Table, rows: Iterable[Row]) -> str:
    """Write rows with a header; lines end with CR LF, missing values are empty."""
    paper = io.StringIO(newline="")
    writer = csv.writer(paper, lineterminator="\r\n")
    writer.writerow([column.name for column in table.columns])
    for row in rows:
        writer.writerow([_cell(column, row[column.name]) for column in table.columns])
    return paper.getvalue()


def _cell(column: Column, value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, datetime):
        return moment_text(value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if column.kind == "number":
        return f"{value:.3f}" if column.unit == "s" else repr(float(value))
    return guarded(value) if isinstance(value, str) else str(value)


def read_csv(text: str) -> list[tuple[int, dict[str, str]]]:
    """Return the rows of a text with a header, each with the number of the line on which it ends.

    Raises
    ------
    ValueError
        If it has no header, a row has not as many cells as the header, or the form itself is broken.
    """
    reader = csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), strict=True)
    try:
        header = next(reader, [])
        rows = [(reader.line_num, cells) for cells in reader if cells]
    except csv.Error as error:
        raise ValueError(f"line {reader.line_num}: {error}; expected comma-separated values by RFC 4180") from error
    if not header:
        raise ValueError("it is empty; expected a header line")
    odd = [
        f"line {line}: {len(cells)} cells, and {len(header)} in the header"
        for line, cells in rows
        if len(cells) != len(header)
    ]
    if odd:
        raise ValueError("; ".join(odd))
    return [(line, {name: unguarded(cell) for name, cell in zip(header, cells, strict=True)}) for line, cells in rows]
