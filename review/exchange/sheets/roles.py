"""What the columns of a table hold: guessed from their headings and from what stands in them."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from review.exchange.sheets.grid import Grid
from review.exchange.sheets.levels import is_hidden, listed, mark_of
from review.exchange.sheets.titles import read_points

ROLES: Final[Mapping[str, str]] = {
    "skip": "left out",
    "number": "number",
    "section": "section",
    "step": "step",
    "criterion": "criterion",
    "action": "what to do",
    "expected": "what is expected",
    "finding": "what to say",
    "equipment": "equipment",
    "caution": "caution",
    "points": "points",
    "weight": "weight",
    "critical": "critical",
    "sides": "sides",
    "right": "right side",
    "left": "left side",
    "view": "in the picture",
    "limit": "time limit in seconds",
    "level": "a grade level",
    "scale": "all grade levels",
    "kind": "kind of row",
    "id": "id",
    "targets": "targets",
    "measures": "measures",
    "entry": "typed result",
    "spoken": "listened for",
    "pass_share": "share to pass",
}
"""What a column can hold, with the words for it; a file written by Runthrough has these words as headings."""

_MANY: Final = frozenset({"skip", "level"})
_LOOKED_THROUGH: Final = 40
_OWN: Final = {words: role for role, words in ROLES.items() if role not in _MANY}
_HEADINGS: Final = tuple(
    (re.compile(pattern), role)
    for pattern, role in (
        (r"^(#|n[or]\.?|n°|number|order|(item|step|skill) ?(#|n[or]\.?|number))$", "number"),
        (r"earned|scored?$|^score\b(?!.*possible)|awarded|obtained|^grade$|comment|notes?$|remark|feedback", "skip"),
        (r"initial|date|signature|^checked|attempt|^trial", "skip"),
        (r"critical|must.?pass|^crit", "critical"),
        (
            r"^((max\w*\.?|possible|total|full) ?)?(points?|pts?\.?|marks?|value|worth)\b|(points?|score) possible",
            "points",
        ),
        (r"weight|factor|multiplier", "weight"),
        (r"^(sides?|r ?/ ?l|l ?/ ?r|laterality)$", "sides"),
        (r"^(right|r)( side)?$", "right"),
        (r"^(left|l)( side)?$", "left"),
        (r"limit|seconds|max\w*\.? time|time allowed", "limit"),
        (r"^(sections?|categor\w+|domains?|areas?|parts?|groups?|components?|stations?|systems?)$", "section"),
        (r"^sub.?(items?|steps?|tasks?)|^criteri(on|a)$", "criterion"),
        (r"caution|safety|precaution|risk|warning", "caution"),
        (r"equipment|materials?|supplies|tools", "equipment"),
        (r"\bsays?\b|verbal|\bstates?\b|statement|spoken|findings?", "finding"),
        (r"expected|normal|^results?$", "expected"),
        (r"in view|picture|^view$|camera", "view"),
        (
            r"steps?|skills?|tasks?|procedure|perform|behaviou?r|compet|criteria|element|^items?|\btests?\b|assess",
            "step",
        ),
        (r"descri|activity|^what", "step"),
        (r"action|^how|instruction|technique|details|method", "action"),
    )
)


@dataclass(frozen=True, slots=True)
class Head:
    """Where a table's headings stand: rows from `first` up to, not including, `end`, counted from 0; none if equal."""

    first: int
    end: int


def find_head(grid: Grid) -> Head:
    """Find the row of headings: the first of those with most cells known as such, with a row of levels below it.

    A table whose rows tell nothing has none, and begins at its first row.
    """
    scores = [_score(grid, row) for row in range(min(len(grid.rows), _LOOKED_THROUGH))]
    best = max(scores, default=0)
    if best < 2:
        return Head(0, 0)
    row = scores.index(best)
    above = row > 0 and _completes(grid, row - 1, row)
    if above:
        return Head(row - 1, row + 1)
    below = row + 1 < len(grid.rows) and _completes(grid, row, row + 1)
    return Head(row, row + 2 if below else row + 1)


def headings(grid: Grid, head: Head) -> tuple[str, ...]:
    """Return one heading a column: the lowest one that stands there, a level going before all others."""
    found = []
    for column in range(grid.width):
        cells = [grid.rows[row][column] for row in range(head.first, head.end) if grid.rows[row][column].strip()]
        levels = [cell for cell in cells if mark_of(cell)]
        found.append(" ".join((levels or cells[-1:] or [""])[-1].split()))
    return tuple(found)


def guess_roles(grid: Grid, head: Head) -> tuple[str, ...]:
    """Guess what each column holds."""
    roles = [_by_heading(text) for text in headings(grid, head)]
    body = grid.rows[head.end :]
    for column, role in enumerate(roles):
        if role in ("step", "", "section") and _numbers_rows(body, column):
            roles[column] = "number"
        elif role == "" and _lists_levels(body, column):
            roles[column] = "scale"
    _settle_steps(body, roles)
    _settle_points(body, roles)
    for column, role in enumerate(roles):
        if role == "" or (role not in _MANY and role in roles[:column]):
            roles[column] = "skip"
    return tuple(roles)


def _by_heading(text: str) -> str:
    """Return the role that a heading names; empty if it names none."""
    said = text.lower().strip(" :.*")
    if said in _OWN:
        return _OWN[said]
    if not said or is_hidden(said):
        return "skip" if said else ("number" if text.strip() == "*" else "")
    if listed(text):
        return "scale"
    if mark_of(text):
        return "level"
    return next((role for pattern, role in _HEADINGS if pattern.search(said)), "")


def _score(grid: Grid, row: int) -> int:
    """Count the different things that the cells of a row head; cells of long text head nothing."""
    cells = [grid.rows[row][column] for column in grid.filled(row)]
    if len(cells) < 2 or any(len(cell) > 80 for cell in cells):
        return 0
    roles = [_by_heading(cell) for cell in cells]
    return len({role for role in roles if role not in ("", "level")}) + roles.count("level")


def _completes(grid: Grid, upper: int, lower: int) -> bool:
    """Tell whether two rows are one heading: levels below a cell that spans them, and nothing else below words."""
    spanning = any(grid.spans(upper, column) > 1 and not _whole(grid, upper, column) for column in grid.filled(upper))
    levels = [column for column in grid.filled(lower) if mark_of(grid.rows[lower][column])]
    words = sum(_by_heading(grid.rows[upper][column]) not in ("", "level") for column in grid.filled(upper))
    alone = len(levels) == len(grid.filled(lower)) and len(levels) >= 2
    return (spanning or alone) and len(levels) >= 2 and words >= 1 and not _is_step(grid, lower)


def _is_step(grid: Grid, row: int) -> bool:
    return any(len(grid.rows[row][column].split()) > 3 for column in grid.filled(row))


def _whole(grid: Grid, row: int, column: int) -> bool:
    return grid.spans(row, column) >= grid.width - 1


def _numbers_rows(body: Sequence[Sequence[str]], column: int) -> bool:
    cells = [row[column].strip() for row in body if row[column].strip()]
    numbered = [cell for cell in cells if re.fullmatch(r"\(?(\d{1,3}(\.\d{1,2})*|[a-z]|\d{1,3}\.?[a-z])[.)]?\*?", cell)]
    rising = len(set(numbered)) > 0.5 * len(numbered)
    return (
        len(numbered) >= 2 and len(numbered) >= 0.6 * len(cells) and rising and numbered[0].strip("(").startswith("1")
    )


def _lists_levels(body: Sequence[Sequence[str]], column: int) -> bool:
    cells = [row[column] for row in body if row[column].strip()]
    return len(cells) >= 2 and sum(bool(listed(cell)) for cell in cells) >= 0.6 * len(cells)


def _settle_steps(body: Sequence[Sequence[str]], roles: list[str]) -> None:
    """Leave one column of steps: the first that was called so, else the one with most text; others say what to do."""
    named = [column for column, role in enumerate(roles) if role == "step"]
    if not named and "criterion" in roles and "kind" not in roles:
        named = [roles.index("criterion")]
    if not named:
        free = [column for column, role in enumerate(roles) if role == ""]
        named = sorted(free, key=lambda column: -sum(len(row[column]) for row in body))[:1]
    for column in named:
        roles[column] = "step" if column == named[0] else "action"


def _settle_points(body: Sequence[Sequence[str]], roles: list[str]) -> None:
    """Take a nameless column of numbers for the points, where nothing else tells them."""
    if {"points", "level", "scale"} & set(roles):
        return
    for column, role in enumerate(roles):
        cells = [row[column] for row in body if row[column].strip()]
        if role == "" and len(cells) >= 2 and sum(read_points(cell) is not None for cell in cells) >= 0.6 * len(cells):
            roles[column] = "points"
            return
