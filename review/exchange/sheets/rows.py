"""One row of a table read as a section, a step or a criterion."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from review.exchange.sheets.exporting import from_lines
from review.exchange.sheets.grid import Grid
from review.exchange.sheets.levels import listed, mark_of, number_of
from review.exchange.sheets.meaning import Meaning
from review.exchange.sheets.titles import LETTERED, Title, read_points, read_sides, read_switch, read_title

_TEXTS: Final = ("action", "expected", "caution")
_LISTS: Final = ("finding", "equipment", "spoken")
_WORDS: Final = {"view": "view", "measures": "measures"}


class Reader:
    """Reads the cells of one table.

    Parameters
    ----------
    grid, meaning
        The table, and what it means.
    fault
        Told the row, the role of the column, and what is wrong with a cell.
    """

    def __init__(self, grid: Grid, meaning: Meaning, fault: Callable[[int, str, str], None]) -> None:
        self._grid = grid
        self._meaning = meaning
        self._fault = fault

    def cell(self, row: int, role: str) -> str:
        """Return what a row holds in the column of a role; empty if there is no such column."""
        column = self._meaning.column(role)
        return "" if column is None else self._grid.rows[row][column].strip()

    def section(self, row: int) -> dict[str, Any]:
        """Read a section: its title, and what else its row says."""
        numbers = {"weight": "weight", "limit": "limit_s", "pass_share": "pass_share"}
        values: dict[str, Any] = {"title": self.cell(row, "step")}
        if self._meaning.exact:
            values |= {"id": self.cell(row, "id")}
            values |= {key: number for role, key in numbers.items() if (number := self._number(row, role)) is not None}
        return values

    def step(self, row: int) -> tuple[dict[str, Any], tuple[str, ...]]:
        """Read a step, and the texts of the criteria that stand in its own row."""
        title = self._title(row, "step")
        parts = [*title.parts, *([beside] if (beside := self.cell(row, "criterion")) else [])]
        values: dict[str, Any] = {"title": title.text}
        if identity := self.cell(row, "id"):
            values["id"] = identity
        values |= {role: text for role in _TEXTS if (text := self.cell(row, role))}
        values["action"] = " ".join([*title.more, values.get("action", "")]).strip() or title.text
        values |= {role: texts for role in _LISTS if (texts := from_lines(self.cell(row, role)))}
        values |= {key: words for role, key in _WORDS.items() if (words := _words(self.cell(row, role)))}
        if described := self._described(row):
            values["expected"] = " ".join([values.get("expected", ""), described]).strip()
        values |= self._worth(row, title)
        values |= self._sides(row, title)
        values |= self._rest(row)
        return values, tuple(parts)

    def criterion(self, row: int) -> dict[str, Any]:
        """Read a criterion: its text, its points, and whether it is marked as critical."""
        role = "step" if self.cell(row, "step") else "criterion"
        if self._meaning.exact:
            title = Title(self.cell(row, role))
        else:
            bare = LETTERED.sub("", self.cell(row, role), count=1)
            title = read_title(" ".join(bare.split()))
        points = self._points(row, title)
        values: dict[str, Any] = {"text": title.text}
        if self._meaning.exact:
            values["id"] = self.cell(row, "id")
        if points is not None:
            values["points"] = points
        if self._critical(row, title):
            values["critical"] = True
        return values

    def _title(self, row: int, role: str) -> Title:
        text = self.cell(row, role)
        return Title(text) if self._meaning.exact else read_title(text)

    def _worth(self, row: int, title: Title) -> dict[str, Any]:
        """Read points, weight, and whether the step is critical."""
        values: dict[str, Any] = {}
        points = self._points(row, title)
        if points is not None:
            values["points"] = points
        elif not self._counted_otherwise(row):
            values["points"] = 1.0
        weight = self._number(row, "weight")
        if weight is not None:
            values["weight"] = weight
        if self._critical(row, title):
            values["critical"] = True
        return values

    def _counted_otherwise(self, row: int) -> bool:
        """Tell whether a step without points has them from its scale or from its criteria."""
        if self._meaning.levels and self._meaning.levels[0].counted:
            return True
        below = row + 1
        while below < len(self._grid.rows) and self._meaning.kinds[below] in ("criterion", "blank"):
            if self._meaning.kinds[below] == "criterion" and self._points(below, read_title(self.cell(below, "step"))):
                return True
            below += 1
        return False

    def _points(self, row: int, title: Title) -> float | None:
        """Return the points of a row: of its column, of its title, or the most below its levels."""
        text = self.cell(row, "points")
        if text:
            found = read_points(text)
            if found is None and not listed(text):
                self._fault(row, "points", f"{text[:40]!r} came for points; expected a number such as 2.")
            if found is not None:
                return found
        return title.points if title.points is not None else self._best(row)

    def _best(self, row: int) -> float | None:
        """Return the most that stands below the levels, where their headings are words; None if nothing does."""
        columns = [column for column, role in enumerate(self._meaning.roles) if role == "level"]
        marks = [mark_of(self._meaning.headings[column]) for column in columns]
        if any(mark is None or mark[1] is not None for mark in marks):
            return None
        numbers = [number_of(self._grid.rows[row][column]) for column in columns]
        known = sorted((number for number in numbers if number is not None), reverse=True)
        if not known or known[0] == 0:
            return None
        shares = sorted((level.worth for level in self._meaning.levels), reverse=True)
        if len(known) == len(shares) and any(
            abs(number / known[0] - share) > 0.01 for number, share in zip(known, shares, strict=True)
        ):
            listed_points = ", ".join(f"{number:g}" for number in known)
            scale = ", ".join(f"{share:g}" for share in shares)
            self._fault(row, "level", f"{listed_points} stand below the grades; expected shares of {scale} as above.")
        return known[0]

    def _critical(self, row: int, title: Title) -> bool:
        text = self.cell(row, "critical")
        said = read_switch(text)
        if said is None:
            self._fault(row, "critical", f"{text[:40]!r} came for critical; expected yes, x, * or an empty cell.")
        return bool(said) or title.critical or (not self._meaning.exact and "*" in self.cell(row, "number"))

    def _sides(self, row: int, title: Title) -> dict[str, Any]:
        """Read sides: of their column, of two columns of grades, or of the title."""
        text = self.cell(row, "sides")
        named = read_sides(text)
        if named is None:
            self._fault(row, "sides", f"{text[:40]!r} came for sides; expected right, left, both or an empty cell.")
        columns = tuple(side for side in ("right", "left") if side in self._meaning.roles)
        sides = named or title.sides or (columns if len(columns) == 2 else ())
        return {"sides": list(sides)} if sides else {}

    def _rest(self, row: int) -> dict[str, Any]:
        values: dict[str, Any] = {}
        limit = self._number(row, "limit")
        if limit is not None:
            values["limit_s"] = limit
        targets = [self._target(row, line) for line in from_lines(self.cell(row, "targets"))]
        if targets:
            values["targets"] = targets
        if entry := self.cell(row, "entry"):
            values["entry"] = entry
        return values

    def _target(self, row: int, line: str) -> dict[str, Any]:
        parts = [part.strip() for part in line.split("|", 4)]
        if len(parts) < 5:
            self._fault(row, "targets", f"{line[:40]!r} came; expected measure | low | high | unit | source.")
            return {}
        values: dict[str, Any] = {"measure": parts[0], "unit": parts[3], "source": parts[4]}
        for key, text in (("low", parts[1]), ("high", parts[2])):
            if text:
                values[key] = self._signed(row, text)
        return values

    def _signed(self, row: int, text: str) -> float:
        try:
            return float(text)
        except ValueError:
            self._fault(row, "targets", f"{text[:40]!r} came for an end of a target; expected a number.")
            return 0.0

    def _number(self, row: int, role: str) -> float | None:
        text = self.cell(row, role)
        found = number_of(text.removesuffix("s").removesuffix(" sec").removeprefix("x").strip())
        if text and found is None:
            self._fault(row, role, f"{text[:40]!r} came; expected a number such as 2.")
        return found

    def _described(self, row: int) -> str:
        """Return what stands below the levels where it is words: how each level looks on this step."""
        told = []
        for column, role in enumerate(self._meaning.roles):
            text = self._grid.rows[row][column].strip()
            if role == "level" and len(text.split()) >= 2 and not mark_of(text):
                told.append(f"{self._meaning.headings[column]}: {text.rstrip('.')}.")
        return " ".join(told)


def _words(text: str) -> list[str]:
    return [word.strip().lower().replace(" ", "_") for word in text.replace("\n", ",").split(",") if word.strip()]
