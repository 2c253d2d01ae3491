"""A table as it came out of a file: cells of text, and what else tells how it is meant."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from review.domain.errors import Fault

MOST_BYTES: Final = 5_000_000
MOST_ROWS: Final = 3000
MOST_COLUMNS: Final = 60
MOST_CHARACTERS: Final = 20_000
"""Sizes above which a file, a table or a cell is not taken for a check-off sheet."""


@dataclass(frozen=True, slots=True)
class Grid:
    """A rectangular table.

    Parameters
    ----------
    name
        Name of the worksheet, or of the file.
    rows
        Cells of each row, all rows equally long; an empty cell is an empty text.
    merged
        How many rows and columns a merged cell spans, by row and column of its top left corner, counted from 0.
    strong
        Cells in bold, by row and column.
    faults
        Cells whose content could not be taken as it is meant, with their places.
    """

    name: str
    rows: tuple[tuple[str, ...], ...]
    merged: Mapping[tuple[int, int], tuple[int, int]] = field(default_factory=dict)
    strong: frozenset[tuple[int, int]] = frozenset()
    faults: tuple[Fault, ...] = ()

    @property
    def width(self) -> int:
        """Number of columns."""
        return len(self.rows[0]) if self.rows else 0

    def filled(self, row: int) -> tuple[int, ...]:
        """Return the columns of a row that hold something."""
        return tuple(column for column, cell in enumerate(self.rows[row]) if cell.strip())

    def spans(self, row: int, column: int) -> int:
        """Return how many columns a cell spans."""
        return self.merged.get((row, column), (1, 1))[1]


def squared(rows: list[list[str]]) -> tuple[tuple[str, ...], ...]:
    """Make all rows equally long, and leave out empty rows and columns at the end."""
    while rows and not any(cell.strip() for cell in rows[-1]):
        rows = rows[:-1]
    width = max((at + 1 for row in rows for at, cell in enumerate(row) if cell.strip()), default=0)
    return tuple(tuple([*row[:width], *[""] * (width - len(row))]) for row in rows)


def letter(column: int) -> str:
    """Return the letters a spreadsheet gives a column, counted from 0.

    Examples
    --------
    >>> letter(0), letter(25), letter(26)
    ('A', 'Z', 'AA')
    """
    return (letter(column // 26 - 1) if column >= 26 else "") + chr(ord("A") + column % 26)


def place(row: int, column: int) -> str:
    """Name a cell for a message; row and column count from 0.

    Examples
    --------
    >>> place(6, 2)
    'row 7, column C'
    """
    return f"row {row + 1}, column {letter(column)}"
