"""Tables as CSV text (RFC 4180), in the forms that spreadsheets save it, and back."""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from contextlib import suppress
from typing import Final

from review.domain.errors import ChecklistRefused, Fault
from review.exchange.csv_text import guarded, unguarded
from review.exchange.sheets.grid import MOST_CHARACTERS, MOST_COLUMNS, MOST_ROWS, Grid, squared

SEPARATORS: Final = (",", ";", "\t")

_MARKS: Final = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_SAID: Final = re.compile(r'"?sep=(.)"?\r?\n', re.IGNORECASE)


def read_delimited(name: str, content: bytes) -> Grid:
    """Read the bytes of a CSV file.

    The encoding is told by its mark, else UTF-8 is tried and then Windows-1252; the separator is told by a first line
    ``sep=``, else it is the one of comma, semicolon and tab that makes most rows equally wide. An apostrophe that
    guards a cell against being taken for a formula is taken off.

    Raises
    ------
    ChecklistRefused
        If the bytes are no text, a quote is not closed, or the table is too big.
    """
    text = _decoded(name, content)
    said = _SAID.match(text)
    separator = said[1] if said else _likeliest(text)
    try:
        rows = list(csv.reader(io.StringIO(text[said.end() if said else 0 :], newline=""), delimiter=separator))
        list(csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True))
    except csv.Error as error:
        number = _row_of_open_quote(text, separator)
        fault = Fault(0, f"no CSV from here on ({error}); expected every quote to be closed.", where=f"row {number}")
        raise ChecklistRefused(name, [fault]) from error
    _judge_size(name, rows)
    return Grid(name, squared([[unguarded(cell) for cell in row] for row in rows]))


def write_delimited(rows: Iterable[Sequence[str | float]]) -> bytes:
    """Write a table as CSV: UTF-8 with its mark, commas, and no cell that a spreadsheet would run as a formula."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    for row in rows:
        writer.writerow([guarded(cell) if isinstance(cell, str) else f"{cell!r}" for cell in row])
    return out.getvalue().encode("utf-8-sig")


def _decoded(name: str, content: bytes) -> str:
    encoding = next((found for mark, found in _MARKS if content.startswith(mark)), None)
    try:
        text = content.decode(encoding or "utf-8")
    except UnicodeDecodeError as first:
        try:
            text = content.decode("windows-1252")
        except UnicodeDecodeError:
            line = content.count(b"\n", 0, first.start) + 1
            words = "here the file is neither UTF-8 nor Windows-1252 text; save it as CSV with the encoding UTF-8."
            raise ChecklistRefused(name, [Fault(line, words)]) from first
    if "\0" in text:
        raise ChecklistRefused(name, [Fault(0, "this is no text; expected a table saved as CSV or XLSX.")])
    return text


def _likeliest(text: str) -> str:
    """Return the separator under which most rows are equally wide, the widest of equals."""
    return max(SEPARATORS, key=lambda separator: _evenness(text, separator))


def _evenness(text: str, separator: str) -> tuple[int, int]:
    try:
        widths = [len(row) for row in csv.reader(io.StringIO(text, newline=""), delimiter=separator) if any(row)]
    except csv.Error:
        return (0, 0)
    counts = Counter(width for width in widths if width > 1)
    width, count = max(counts.items(), key=lambda pair: (pair[1], pair[0]), default=(0, 0))
    return (count, width)


def _row_of_open_quote(text: str, separator: str) -> int:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    read = 0
    with suppress(csv.Error):
        for _ in reader:
            read += 1
    return read + 1


def _judge_size(name: str, rows: Sequence[Sequence[str]]) -> None:
    longest = max((len(cell) for row in rows for cell in row), default=0)
    widest = max(map(len, rows), default=0)
    if len(rows) > MOST_ROWS or widest > MOST_COLUMNS or longest > MOST_CHARACTERS:
        raise ChecklistRefused(name, [Fault(0, too_big(len(rows), widest, longest))])


def too_big(rows: int, columns: int, longest: int) -> str:
    """Say that a table is too big, and for what."""
    return (
        f"{rows} rows, {columns} columns and up to {longest} characters in a cell came; expected a check-off sheet of "
        f"at most {MOST_ROWS} rows, {MOST_COLUMNS} columns and {MOST_CHARACTERS} characters."
    )
