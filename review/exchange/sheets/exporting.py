"""A checklist as a table that reads back as the same checklist."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Final

from review.domain.checklist import Checklist, Criterion, Section, Step, Target
from review.exchange.sheets.about import about_rows
from review.exchange.sheets.roles import ROLES

COLUMNS: Final = (
    *("kind", "id", "step", "action", "expected", "finding", "equipment", "caution", "points", "weight", "critical"),
    *("sides", "view", "limit", "targets", "measures", "entry", "spoken", "pass_share"),
)
"""What the columns hold, in their order."""

Cell = str | float


def table_of(sheet: Checklist) -> tuple[list[list[Cell]], tuple[int, ...]]:
    """Return a checklist as rows of cells, and which of them are headings (counted from 0)."""
    rows: list[list[Cell]] = [*about_rows(sheet), []]
    heads = [len(rows)]
    rows.append([ROLES[role] for role in COLUMNS])
    for section in sheet.sections:
        heads.append(len(rows))
        rows.append(_section(section))
        for step in section.steps:
            rows.append(_step(step))
            rows += [_criterion(criterion) for criterion in step.criteria]
    width = len(COLUMNS)
    return [[*row, *[""] * (width - len(row))] for row in rows], tuple(heads)


def _section(section: Section) -> list[Cell]:
    return _row(
        kind="section",
        id=section.id,
        step=section.title,
        weight=section.weight,
        limit=section.limit_s,
        pass_share=section.pass_share,
    )


def _step(step: Step) -> list[Cell]:
    return _row(
        kind="step",
        id=step.id,
        step=step.title,
        action=step.action,
        expected=step.expected,
        finding=lines(step.finding),
        equipment=lines(step.equipment),
        caution=step.caution,
        points=step.points,
        weight=None if step.weight == 1 else step.weight,
        critical="yes" if step.critical else "",
        sides=", ".join(step.sides),
        view=", ".join(step.view),
        limit=step.limit_s,
        targets=lines([_target(target) for target in step.targets]),
        measures=", ".join(step.shown),
        entry=step.entry or "",
        spoken=lines(step.spoken),
    )


def _criterion(criterion: Criterion) -> list[Cell]:
    return _row(kind="criterion", id=criterion.id, step=criterion.text, points=criterion.points)


def _target(target: Target) -> str:
    ends = ["" if end is None else repr(end) for end in (target.low, target.high)]
    return " | ".join([target.measure, *ends, target.unit, target.source])


def _row(**cells: Cell | None) -> list[Cell]:
    found = [cells.get(role) for role in COLUMNS]
    return [
        "" if cell is None else int(cell) if isinstance(cell, float) and cell.is_integer() else cell for cell in found
    ]


def lines(texts: Sequence[str]) -> str:
    """Put a list of texts into a cell, one a line; where a text has lines itself, as JSON."""
    plain = not any("\n" in text or text.startswith("[") for text in texts)
    return "\n".join(texts) if plain else json.dumps(list(texts), ensure_ascii=False)


def from_lines(cell: str) -> list[str]:
    r"""Return the texts of a cell that `lines` made.

    Examples
    --------
    >>> from_lines(lines(["feet together", "eyes closed"])), from_lines(lines(["a", "b\n\nc"])), from_lines(" ")
    (['feet together', 'eyes closed'], ['a', 'b\n\nc'], [])
    """
    if cell.startswith("["):
        try:
            found = json.loads(cell)
        except ValueError:
            found = None
        if isinstance(found, list):
            return [str(text) for text in found]
    return [line.strip() for line in cell.split("\n") if line.strip()]
