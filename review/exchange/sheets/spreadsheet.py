"""Files of tables by their kind: CSV and XLSX, in and out."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import PurePath
from typing import Final

from review.domain.errors import ChecklistRefused, Fault
from review.exchange.sheets.delimited import read_delimited, write_delimited
from review.exchange.sheets.grid import MOST_BYTES, Grid
from review.exchange.sheets.workbook import read_workbook, write_workbook

ENDINGS: Final = (".csv", ".tsv", ".txt", ".xlsx", ".xlsm")
"""Endings of the names of files that are read."""

TYPES: Final = {
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
"""Kinds of files that are written, with their media types."""

_CONTROL: Final = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")
_PACKED: Final = b"PK\x03\x04"
_OLD: Final = b"\xd0\xcf\x11\xe0"


def read_tables(name: str, content: bytes) -> tuple[Grid, ...]:
    """Read all tables of a file; what it is is told by its bytes, not by its name.

    Raises
    ------
    ChecklistRefused
        If the file cannot be used; the message says what to save it as.
    """
    if len(content) > MOST_BYTES:
        reason = f"is bigger than {MOST_BYTES} bytes; expected a check-off sheet, much smaller."
        raise ChecklistRefused(name, [Fault(0, reason)])
    if content.startswith(_OLD):
        reason = "is a workbook of the old kind, or one with a password; save it as XLSX without a password."
        raise ChecklistRefused(name, [Fault(0, reason)])
    if content.startswith(_PACKED):
        return read_workbook(name, content)
    grid = read_delimited(name, content)
    if not grid.rows:
        raise ChecklistRefused(name, [Fault(0, "the file is empty; expected a table of steps.")])
    return (grid,)


def written(kind: str, title: str, rows: Sequence[Sequence[str | float]], heads: Sequence[int]) -> bytes:
    """Write a table as a file of a kind out of `TYPES`; see `review.exchange.sheets.workbook.write_workbook`.

    Control signs, which neither kind can hold, are left out.
    """
    clean = [[_CONTROL.sub("", cell) if isinstance(cell, str) else cell for cell in row] for row in rows]
    return write_workbook(title, clean, heads) if kind == "xlsx" else write_delimited(clean)


def stem(name: str) -> str:
    """Return the name of a file without folder and ending, in words.

    Examples
    --------
    >>> stem("forms/Balance_check off-2.xlsx")
    'Balance check off-2'
    """
    return PurePath(name.replace("\\", "/")).stem.replace("_", " ").strip()
