"""Tables as XLSX workbooks (ECMA-376), read with care for what a stranger may have put into one, and written."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterable, Sequence
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING, Any, Final

from review.domain.errors import ChecklistRefused, Fault
from review.exchange.sheets.delimited import too_big
from review.exchange.sheets.grid import MOST_CHARACTERS, MOST_COLUMNS, MOST_ROWS, Grid, place, squared

if TYPE_CHECKING:
    from openpyxl.cell.cell import Cell, MergedCell
    from openpyxl.worksheet.worksheet import Worksheet

    AnyCell = Cell | MergedCell

_MOST_UNPACKED: Final = 60_000_000
_MOST_PARTS: Final = 1000
_DECLARATIONS: Final = tuple(
    word.encode(encoding) for word in ("<!DOCTYPE", "<!ENTITY") for encoding in ("utf-8", "utf-16-le", "utf-16-be")
)
_WIDEST: Final = 60


def read_workbook(name: str, content: bytes) -> tuple[Grid, ...]:
    """Read the worksheets of an XLSX workbook that hold something, in their order.

    Raises
    ------
    ChecklistRefused
        If it is no workbook, unpacks to far more than a check-off sheet needs, declares XML entities, or has too many
        rows or columns.
    """
    _judge_packing(name, content)
    shown, meant = _opened(name, content, data_only=True), _opened(name, content, data_only=False)
    grids = []
    for worksheet in shown.worksheets:
        if worksheet.max_row > MOST_ROWS or worksheet.max_column > MOST_COLUMNS:
            reason = f"worksheet {worksheet.title!r}: {too_big(worksheet.max_row, worksheet.max_column, 0)}"
            raise ChecklistRefused(name, [Fault(0, reason)])
        grids.append(_grid(worksheet, meant[worksheet.title]))
    found = tuple(grid for grid in grids if grid.rows)
    if not found:
        raise ChecklistRefused(name, [Fault(0, "no worksheet holds anything; expected a table of steps.")])
    return found


def write_workbook(title: str, rows: Iterable[Sequence[str | float]], heads: Sequence[int]) -> bytes:
    """Write a table as a workbook of one worksheet; no text in it is a formula.

    Parameters
    ----------
    title
        Name of the worksheet; what such names cannot hold is left out.
    rows
        The cells; an empty text is an empty cell.
    heads
        Rows that are set in bold, counted from 0.
    """
    from openpyxl import Workbook
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
    from openpyxl.styles import Alignment, Font

    book = Workbook()
    worksheet: Any = book.active
    worksheet.title = "".join(sign for sign in title if sign not in "[]:*?/\\")[:31].strip("' ") or "Checklist"
    for row_at, row in enumerate(rows, start=1):
        for column_at, value in enumerate(row, start=1):
            if value == "":
                continue
            cell = worksheet.cell(row_at, column_at)
            cell.value = ILLEGAL_CHARACTERS_RE.sub("", value) if isinstance(value, str) else value
            if isinstance(value, str):
                cell.data_type, cell.quotePrefix = "s", True
            cell.alignment = Alignment(wrap_text=True, vertical="top")
            if row_at - 1 in heads:
                cell.font = Font(bold=True)
    for column in worksheet.columns:
        longest = max((len(line) for cell in column for line in str(cell.value or "").split("\n")), default=0)
        worksheet.column_dimensions[column[0].column_letter].width = min(_WIDEST, max(9, longest + 2))
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _judge_packing(name: str, content: bytes) -> None:
    """Refuse what should not be unpacked, before anything is."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            parts = packed.infolist()
            size = sum(part.file_size for part in parts)
            if len(parts) > _MOST_PARTS or size > _MOST_UNPACKED:
                reason = (
                    f"unpacks to {len(parts)} parts of {size} bytes in all; expected a check-off sheet of at most "
                    f"{_MOST_PARTS} parts and {_MOST_UNPACKED} bytes."
                )
                raise ChecklistRefused(name, [Fault(0, reason)])
            xml = [packed.read(part) for part in parts if part.filename.endswith((".xml", ".rels"))]
    except (zipfile.BadZipFile, RuntimeError, NotImplementedError, OSError, EOFError) as error:
        reason = (
            f"is no workbook in XLSX that can be read ({error}); open it in a spreadsheet and save it anew as XLSX."
        )
        raise ChecklistRefused(name, [Fault(0, reason)]) from error
    if any(word in part for part in xml for word in _DECLARATIONS):
        reason = "declares entities of its own in its XML, which no spreadsheet does; save it anew as XLSX."
        raise ChecklistRefused(name, [Fault(0, reason)])


def _opened(name: str, content: bytes, data_only: bool) -> Any:
    from openpyxl import load_workbook

    try:  # a damaged workbook breaks the reader in many ways
        return load_workbook(io.BytesIO(content), data_only=data_only, keep_links=False)
    except Exception as error:
        reason = f"is no workbook that can be read ({error}); open it in a spreadsheet and save it anew as XLSX."
        raise ChecklistRefused(name, [Fault(0, reason)]) from error


def _grid(shown: Worksheet, meant: Worksheet) -> Grid:
    faults: list[Fault] = []
    rows, strong = [], set()
    for row_at, (row, formulas) in enumerate(zip(shown.iter_rows(), meant.iter_rows(), strict=True)):
        cells = enumerate(zip(row, formulas, strict=True))
        rows.append([_text(cell, formula, place(row_at, at), faults) for at, (cell, formula) in cells])
        strong |= {(row_at, column_at) for column_at, cell in enumerate(row) if cell.font and cell.font.bold}
    merged = {
        (span.min_row - 1, span.min_col - 1): (span.max_row - span.min_row + 1, span.max_col - span.min_col + 1)
        for span in shown.merged_cells.ranges
    }
    return Grid(shown.title, squared(rows), merged, frozenset(strong), tuple(faults))


def _text(cell: AnyCell, formula: AnyCell, where: str, faults: list[Fault]) -> str:
    """Return what a cell shows; note what cannot be meant so."""
    value: Any = cell.value
    if value is None and formula.data_type == "f":
        faults.append(Fault(0, "a formula without a kept result; save the file in a spreadsheet first.", where=where))
    if isinstance(value, datetime | date | time | timedelta):
        faults.append(
            Fault(
                0,
                f"a date or time ({value}) came; spreadsheets turn texts such as 3/2/1 into dates. Set the cell's "
                "format to text and type it again.",
                where=where,
            )
        )
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return _number(float(value), str(cell.number_format))
    return str(value or "")[:MOST_CHARACTERS]


def _number(value: float, written: str) -> str:
    if written.endswith("%"):
        return f"{value * 100:.10g} %"
    return str(int(value)) if value.is_integer() else repr(value)
