"""The preview of a table: what each column and row became, what is wrong, what was assumed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from review.domain.checklist import Checklist
from review.domain.checklist_file import checklist_of
from review.domain.checklist_places import placed
from review.domain.errors import ChecklistRefused, Fault
from review.exchange.sheets.grid import Grid
from review.exchange.sheets.importing import Made, make
from review.exchange.sheets.meaning import Meaning, Said, settle


@dataclass(frozen=True, slots=True)
class Preview:
    """A table, what it is taken to mean, and what it makes: a checklist, or None and the faults."""

    grid: Grid
    meaning: Meaning
    made: Made
    sheet: Checklist | None
    faults: tuple[Fault, ...]


def preview(
    grid: Grid, name: str, said: Said | None = None, known_measures: Mapping[str, str] | None = None
) -> Preview:
    """Read a table as a checklist without storing it.

    Parameters
    ----------
    grid, name
        The table, and the name of its file.
    said
        What the author said of it so far.
    known_measures
        As for `review.domain.checklist_file.parse_checklist`.
    """
    meaning = settle(grid, said)
    made = make(grid, meaning, name)
    sheet, faults = None, list(made.faults)
    try:
        with placed(made.values, made.where):
            sheet = checklist_of({**made.values, "version": 1}, name, known_measures)
    except ChecklistRefused as refused:
        faults += [fault for fault in refused.faults if str(fault) not in {str(one) for one in faults}]
    faults.sort(key=_row)
    return Preview(grid, meaning, made, None if faults else sheet, tuple(faults))


def demand_sheet(found: Preview, name: str) -> Checklist:
    """Return the checklist of a preview.

    Raises
    ------
    ChecklistRefused
        If the table has faults; it holds all of them, in the order of their rows.
    """
    if found.sheet is None:
        raise ChecklistRefused(name, found.faults)
    return found.sheet


def likeliest(grids: Sequence[Grid]) -> int:
    """Return which of several worksheets holds the check-off sheet: the one with most steps."""
    counts = [settle(grid).kinds.count("step") for grid in grids]
    return counts.index(max(counts))


def _row(fault: Fault) -> tuple[int, Any]:
    digits = "".join(sign for sign in fault.where.partition(",")[0] if sign.isdecimal())
    return (int(digits), fault.where) if fault.where.startswith("row ") and digits else (0, fault.where)
