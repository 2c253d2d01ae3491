"""What the rows of a table are, such as sections, steps, notes and totals; guessed, for an author to put right."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from review.exchange.sheets.grid import Grid
from review.exchange.sheets.levels import legend, listed, number_of
from review.exchange.sheets.roles import Head
from review.exchange.sheets.titles import LETTERED, NUMBERED, numbers_a_section

KINDS: Final[Mapping[str, str]] = {
    "section": "section",
    "step": "step",
    "criterion": "criterion",
    "note": "note, kept with the sheet",
    "title": "title",
    "heading": "headings",
    "about": "about the sheet",
    "legend": "meaning of the grades",
    "rule": "what is needed to pass",
    "total": "total",
    "skip": "left out",
    "blank": "empty",
}
"""What a row can be, with the words for it."""

CHOICES: Final = ("section", "step", "criterion", "note", "skip")
"""What an author can say that a row is."""

_TOTAL: Final = re.compile(
    r"^\W*(sub|grand )?-?(total|sum)\b|^\W*(points|score|final score) (earned|total)|^\W*score\s*:?[\s_/\d.]*$", re.I
)
_RULE: Final = re.compile(
    r"pass(ing|ed)? (score|mark|grade|rate)|to pass\b|must (score|achieve|earn)|time (limit|allowed)|minutes allowed",
    re.I,
)
_NOTE: Final = re.compile(
    r"^\W*(notes?|n\.?b|comments?|remarks?|directions?|instructions?|important|reminder|tip)\b\s*[:.\u2013-]", re.I
)
_KEY: Final = re.compile(
    r"^\W*\*{1,3}\s*(=|\u2013|-|denotes|indicates|means|marks)|\*{1,3} (denotes|indicates|means|=)", re.I
)
_FORM: Final = re.compile(
    r"^\W*(student|learner|evaluator|examiner|instructor|assessor|partner|peer|name|date|signature|signed|initials|score|attempt)\b"
    r"[^.]{0,40}(:|_{2,}|$)",
    re.I,
)
_BLANK_LINE: Final = re.compile(r"_{3,}|\.{4,}")
_MOST_WORDS: Final = 12


@dataclass(frozen=True, slots=True)
class _Table:
    """A table with what is known of it, for judging one row after the other.

    `numbered` tells whether a column holds numbers, `parents` which numbers have others below them (2 for 2.1),
    `valued` whether rows tell by their cells which of them are steps.
    """

    grid: Grid
    roles: Sequence[str]
    numbered: bool
    parents: frozenset[str]
    valued: bool = False

    def cell(self, row: int, role: str) -> str:
        """Return what a row holds in the first column of a role."""
        return self.grid.rows[row][self.roles.index(role)].strip() if role in self.roles else ""


def guess_kinds(grid: Grid, head: Head, roles: Sequence[str]) -> tuple[str, ...]:
    """Guess what each row is.

    Parameters
    ----------
    grid, head
        The table, and where its headings stand.
    roles
        What each column holds.
    """
    numbers = {_number(cells, roles) for cells in grid.rows[head.end :]}
    parents = {number.rpartition(".")[0] for number in numbers if "." in number} - {""}
    table = _Table(grid, roles, "number" in roles, frozenset(parents))
    body = range(head.end, len(grid.rows))
    table = replace(table, valued=any(_worth(table, row) for row in body if table.cell(row, "step")))
    kinds = [_before(grid, row) for row in range(head.first)]
    kinds += ["heading"] * (head.end - head.first)
    kinds += [_kind(table, row) for row in range(head.end, len(grid.rows))]
    if "title" not in kinds[: head.first]:
        kinds[: head.first] = _with_title(grid, kinds[: head.first])
    return tuple("heading" if row >= head.end and _again(grid, row, head) else kind for row, kind in enumerate(kinds))


def _with_title(grid: Grid, kinds: list[str]) -> list[str]:
    """Take the first note or left-out line above the headings that is no form field for the title."""
    for row, kind in enumerate(kinds):
        text = _text(grid.rows[row])
        if kind == "note" and not _NOTE.match(text):
            return [*kinds[:row], "title", *kinds[row + 1 :]]
    return kinds


def _again(grid: Grid, row: int, head: Head) -> bool:
    """Tell whether a row repeats the headings, as tables do on each page."""
    return head.end > head.first and grid.rows[row] == grid.rows[head.end - 1]


def _text(row: Sequence[str]) -> str:
    return " ".join(cell.strip() for cell in row if cell.strip())


def _before(grid: Grid, row: int) -> str:
    text = _text(grid.rows[row])
    return "blank" if not text else _remark(text) or "note"


def _remark(text: str) -> str:
    """Return the kind of a row that is about the sheet; empty if it is none."""
    if _TOTAL.search(text):
        return "total"
    if _RULE.search(text):
        return "rule"
    if _KEY.search(text):
        return "note"
    if legend(text):
        return "legend"
    if _NOTE.match(text):
        return "note" if _said(text) else "skip"
    return "skip" if _FORM.match(text) and (len(text.split()) <= 6 or _BLANK_LINE.search(text)) else ""


def _said(text: str) -> bool:
    """Tell whether a note says something, or is a line to write on."""
    return bool(re.sub(r"[\W_]+", "", _NOTE.sub("", text, count=1)))


def _kind(table: _Table, row: int) -> str:
    if not _text(table.grid.rows[row]):
        return "blank"
    if "kind" in table.roles:
        said = table.cell(row, "kind").lower()
        return said if said in KINDS else "skip"
    step = table.cell(row, "step")
    remark = "" if _number(table.grid.rows[row], table.roles) else _remark(_text(table.grid.rows[row]))
    if remark == "total" or (remark and not _worth(table, row)):
        return remark
    if not step:
        return "criterion" if table.cell(row, "criterion") else _stray(table, row)
    return _by_text(table, row, step)


def _stray(table: _Table, row: int) -> str:
    """Judge a row without a step: a section that stands in another column, or nothing."""
    filled = table.grid.filled(row)
    alone = len(filled) == 1 and table.roles[filled[0]] in ("number", "section", "skip")
    return "section" if alone and re.search(r"[A-Za-z]{3}", table.grid.rows[row][filled[0]]) else "skip"


def _by_text(table: _Table, row: int, step: str) -> str:
    number = _number(table.grid.rows[row], table.roles)
    if number in table.parents:
        return "step" if _worth(table, row) or not _has_points(table) else "section"
    if "." in number and number.rpartition(".")[0] in table.parents:
        return "criterion" if _parent_is_step(table, row, number.rpartition(".")[0]) else "step"
    if re.fullmatch(r"\d*[a-z]", number) or LETTERED.match(step) or _indented(table, row):
        return "criterion"
    if not number and not _worth(table, row) and _heads(table, row, step):
        return "section"
    if not number and table.numbered and not _worth(table, row) and len(step.split()) > _MOST_WORDS:
        return "note"
    return "step"


def _number(cells: Sequence[str], roles: Sequence[str]) -> str:
    """Return the number a row has in its own column, or before its step; empty if none."""
    if "number" in roles:
        said = cells[roles.index("number")].strip().strip("().*").lower()
        return said if re.fullmatch(r"\d{1,3}(\.\d{1,2})*[.]?[a-z]?|[a-z]", said) else ""
    found = NUMBERED.match(cells[roles.index("step")]) if "step" in roles else None
    return found["number"] if found else ""


def _worth(table: _Table, row: int) -> bool:
    """Tell whether a row has points, levels, or anything else that only a step has."""
    if "section" in table.roles and table.cell(row, "section") and table.cell(row, "step"):
        return True
    cells = zip(table.roles, table.grid.rows[row], strict=True)
    return any(_counts(role, cell) for role, cell in cells if cell.strip())


def _counts(role: str, cell: str) -> bool:
    if role in ("points", "level", "weight"):
        return number_of(cell.strip("_/ ")) is not None or role == "level"
    return role in ("scale", "critical", "sides", "right", "left", "limit") and (role != "scale" or bool(listed(cell)))


def _has_points(table: _Table) -> bool:
    return "points" in table.roles


def _parent_is_step(table: _Table, row: int, parent: str) -> bool:
    above = [at for at in range(row) if _number(table.grid.rows[at], table.roles) == parent]
    return bool(above) and (not _has_points(table) or _worth(table, above[-1]))


def _indented(table: _Table, row: int) -> bool:
    return table.grid.rows[row][table.roles.index("step")].startswith("   ")


def _heads(table: _Table, row: int, step: str) -> bool:
    """Tell whether a lone text heads a section."""
    column = table.roles.index("step")
    if len(table.grid.filled(row)) > 1 or len(step.split()) > _MOST_WORDS:
        return False
    shown = (row, column) in table.grid.strong or table.grid.spans(row, column) > 1
    written = step.isupper() or step.endswith(":") or numbers_a_section(step)
    return shown or written or table.numbered or table.valued
