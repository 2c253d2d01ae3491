"""What a table means: guessed, and put right by its author."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from review.domain.errors import InputError
from review.exchange.sheets.about import is_about
from review.exchange.sheets.grid import Grid
from review.exchange.sheets.kinds import CHOICES, guess_kinds
from review.exchange.sheets.levels import Level, is_hidden, legend, listed, mark_of, number_of, scale_of
from review.exchange.sheets.roles import ROLES, Head, find_head, guess_roles, headings

CAUTION: Final = "The imported sheet names no caution here: keep to your course's own safety rules for this step."
EXPECTED: Final = "As your course teaches it."
USUAL: Final = (Level("done", 1.0), Level("not done", 0.0))
"""The scale that is taken where a table names none."""


@dataclass(frozen=True, slots=True)
class Said:
    """What the author said of a table; what is not said is guessed.

    Parameters
    ----------
    head
        Number of the row with the headings, counted from 1; 0 for none, None for a guess.
    roles
        What columns hold, by column from 0.
    kinds
        What rows are, by row from 0.
    levels
        The grade scale, best level first.
    title, id, caution, expected
        Name and id of the checklist, and what steps get that have no caution or nothing expected of their own.
    """

    head: int | None = None
    roles: Mapping[int, str] = field(default_factory=dict)
    kinds: Mapping[int, str] = field(default_factory=dict)
    levels: tuple[Level, ...] | None = None
    title: str = ""
    id: str = ""
    caution: str = ""
    expected: str = ""


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a table is taken to mean: see `Said`; `headings` are those of the columns, `assumed` the scale's origin."""

    head: Head
    headings: tuple[str, ...]
    roles: tuple[str, ...]
    kinds: tuple[str, ...]
    levels: tuple[Level, ...]
    hidden: str | None
    assumed: bool
    said: Said

    @property
    def exact(self) -> bool:
        """Whether the table says itself what each row is, as one written by Runthrough does."""
        return "kind" in self.roles

    def column(self, role: str) -> int | None:
        """Return the first column of a role; None if there is none."""
        return self.roles.index(role) if role in self.roles else None


def settle(grid: Grid, said: Said | None = None) -> Meaning:
    """Guess what a table means, as far as the author has not said it."""
    said = said or Said()
    head = find_head(grid) if said.head is None else _said_head(grid, said.head)
    guessed = guess_roles(grid, head)
    roles = tuple(said.roles.get(column, role) for column, role in enumerate(guessed))
    kinds = list(guess_kinds(grid, head, roles))
    if "kind" in roles:
        kinds[: head.first] = [
            _about_kind(row, kind) for row, kind in zip(grid.rows, kinds[: head.first], strict=False)
        ]
    for row, kind in said.kinds.items():
        if 0 <= row < len(kinds):
            kinds[row] = kind
    names = headings(grid, head)
    levels, hidden = _levels(grid, names, roles, kinds)
    chosen = said.levels if said.levels is not None else levels or USUAL
    return Meaning(head, names, roles, tuple(kinds), chosen, hidden, not levels and said.levels is None, said)


def _said_head(grid: Grid, number: int) -> Head:
    end = min(max(0, number), len(grid.rows))
    return Head(max(0, end - 1), end)


def _about_kind(cells: Sequence[str], kind: str) -> str:
    return "about" if is_about(cells) else kind


def _levels(
    grid: Grid, names: Sequence[str], roles: Sequence[str], kinds: Sequence[str]
) -> tuple[tuple[Level, ...], str | None]:
    """Find the scale: in columns of their own, in a heading that lists them, in the cells, or in a legend alone."""
    words: dict[str, str] = {}
    for row, kind in enumerate(kinds):
        if kind == "legend":
            words |= legend(" ; ".join(cell for cell in grid.rows[row] if cell.strip()))
    hidden = next((words[mark] for mark in words if is_hidden(mark)), None)
    hidden = hidden or next((name for name in names if is_hidden(name)), None)
    worded = {mark: word for mark, word in words.items() if not is_hidden(mark)}
    marks = [mark for name, role in zip(names, roles, strict=True) if role == "level" and (mark := mark_of(name))]
    if not marks:
        marks = [(mark, number_of(mark)) for mark in _listed(grid, names, roles)]
    if not marks and len(worded) >= 2:
        marks = [(mark, number_of(mark)) for mark in worded]
    return scale_of(_worths(grid, roles, kinds, marks), worded), hidden


def _listed(grid: Grid, names: Sequence[str], roles: Sequence[str]) -> tuple[str, ...]:
    if "scale" not in roles:
        return ()
    column = roles.index("scale")
    return next((found for text in (names[column], *(row[column] for row in grid.rows)) if (found := listed(text))), ())


def _worths(
    grid: Grid, roles: Sequence[str], kinds: Sequence[str], marks: list[tuple[str, float | None]]
) -> list[tuple[str, float | None]]:
    """Give words without numbers the shares that the points below them show, where a row has points below all."""
    columns = [column for column, role in enumerate(roles) if role == "level"]
    if not columns or len(columns) != len(marks) or any(worth is not None for _, worth in marks):
        return marks
    for row, kind in enumerate(kinds):
        numbers = [number_of(grid.rows[row][column]) for column in columns]
        most = max((number or 0.0 for number in numbers), default=0.0)
        if kind in ("step", "criterion") and None not in numbers and most > 0:
            return [(word, (number or 0.0) / most) for (word, _), number in zip(marks, numbers, strict=True)]
    return marks


def said_of(values: Mapping[str, Any]) -> Said:
    """Read what an author said from plain JSON values.

    Raises
    ------
    InputError
        If anything in them is none of what can be said.
    """
    try:
        levels = values.get("levels")
        found = Said(
            head=None if values.get("head") is None else int(values["head"]),
            roles={int(column): str(role) for column, role in dict(values.get("roles") or {}).items()},
            kinds={int(row): str(kind) for row, kind in dict(values.get("kinds") or {}).items()},
            levels=None if levels is None else tuple(_level(level) for level in levels),
            **{key: str(values.get(key) or "") for key in ("title", "id", "caution", "expected")},
        )
    except (TypeError, ValueError, KeyError, AttributeError) as error:
        raise InputError(f"What was said of the table cannot be read ({error}); choose the file again.") from error
    wrong = {*found.roles.values()} - {*ROLES} | {*found.kinds.values()} - {*CHOICES}
    if wrong:
        raise InputError(f"{', '.join(sorted(wrong))} came; expected one of {', '.join([*ROLES, *CHOICES])}.")
    return found


def _level(values: Mapping[str, Any]) -> Level:
    return Level(str(values["word"]), float(values["worth"]), bool(values.get("counted")))
