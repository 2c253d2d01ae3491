"""From a table to a checklist: every row in turn, all faults with their rows."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from math import isclose
from typing import Any, Final

from review.domain.checklist_places import place_of
from review.domain.errors import Fault
from review.domain.result import percent
from review.domain.wording import counted
from review.exchange.sheets.about import read_about, read_rule
from review.exchange.sheets.grid import Grid, letter, place
from review.exchange.sheets.levels import number_of, scale_values
from review.exchange.sheets.meaning import CAUTION, EXPECTED, Meaning
from review.exchange.sheets.names import slug, unlike
from review.exchange.sheets.rows import Reader
from review.exchange.sheets.spreadsheet import stem
from review.exchange.sheets.titles import read_section

NOTICE: Final = (
    "Practice feedback, not a diagnosis and not a clinical record. Your course's own sheet, local policy and licensed "
    "instructors decide how a step is done and graded."
)


@dataclass(slots=True)
class Made:
    """What was made of a table.

    Parameters
    ----------
    values
        The checklist in the shape of its file.
    became
        In words, what each row became, by row from 0.
    rows
        Row each section, step and criterion was made of, by its way in `values`.
    faults
        What could not be taken as it stands.
    remarks
        What was assumed, and what the author should look at.
    """

    values: dict[str, Any] = field(default_factory=dict)
    became: dict[int, str] = field(default_factory=dict)
    rows: dict[tuple[str | int, ...], int] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)

    def where(self, fault: Fault) -> str:
        """Name the row a fault of the checklist comes from, or its place on the sheet where no row made it."""
        way = fault.way
        while way and way not in self.rows:
            way = way[:-1]
        return f"row {self.rows[way] + 1}" if way else place_of(self.values, fault.way)


def make(grid: Grid, meaning: Meaning, name: str) -> Made:
    """Make a checklist's values of a table.

    Parameters
    ----------
    grid, meaning
        The table, and what it means.
    name
        Name of the file, for the title where the table has none.
    """
    made = Made(faults=list(grid.faults))
    body = _Body(grid, meaning, made)
    for row in range(len(grid.rows)):
        body.take(row)
    made.values = _sheet(grid, meaning, made, body, name)
    made.remarks = _remarks(grid, meaning, made, body)
    return made


class _Body:
    """Sections, steps and criteria as they come, row after row."""

    def __init__(self, grid: Grid, meaning: Meaning, made: Made) -> None:
        self.grid = grid
        self.meaning = meaning
        self.made = made
        self.reader = Reader(grid, meaning, self.fault)
        self.sections: list[dict[str, Any]] = []
        self.ids: list[str] = []
        self.without: dict[str, int] = {"caution": 0, "expected": 0}
        self.starred = 0
        self.takers: dict[str, Callable[[int], str]] = {
            "section": self.section,
            "step": self.step,
            "criterion": self.criterion,
        }

    def fault(self, row: int, role: str, text: str) -> None:
        """Note a fault of a cell, by its row and what its column holds."""
        column = self.meaning.column(role)
        where = f"row {row + 1}" if column is None else place(row, column)
        self.made.faults.append(Fault(0, text, where=where))

    def take(self, row: int) -> None:
        """Make of a row what it is."""
        kind = self.meaning.kinds[row]
        if kind in self.takers:
            self.made.became[row] = self.takers[kind](row)

    def section(self, row: int) -> str:
        """Open a section."""
        values = self.reader.section(row)
        text = values.pop("title") or " ".join(cell for cell in self.grid.rows[row] if cell.strip())
        title = text if self.meaning.exact else read_section(text)
        self.open_section(row, title, values)
        return f"section: {title}"

    def open_section(self, row: int, title: str, values: dict[str, Any]) -> None:
        """Begin a section with a title and what else is known of it."""
        taken = [section["id"] for section in self.sections]
        values["id"] = values.get("id") or unlike(slug(title, "section"), taken)
        self.made.rows["section", len(self.sections)] = row
        self.sections.append({"id": values.pop("id"), "title": title, **values, "step": []})

    def step(self, row: int) -> str:
        """Add a step to the section it belongs to."""
        self._turn_section(row)
        values, parts = self.reader.step(row)
        values["id"] = values.get("id") or unlike(slug(values["title"], "step"), self.ids)
        self.ids.append(values["id"])
        for key, usual in (("caution", CAUTION), ("expected", EXPECTED)):
            if not values.get(key):
                values[key] = getattr(self.meaning.said, key) or usual
                self.without[key] += 1
        steps = self.sections[-1]["step"]
        self.made.rows["section", len(self.sections) - 1, "step", len(steps)] = row
        steps.append(values)
        self.starred += bool(values.get("critical")) and self.meaning.column("critical") is None
        for part in parts:
            self._add_criterion(row, {"text": part})
        return "step" + self._told(values)

    def criterion(self, row: int) -> str:
        """Add a criterion to the step before it."""
        if not self.sections or not self.sections[-1]["step"]:
            self.fault(row, "step", "a criterion comes before any step; say that this row is a step or a section.")
            return "criterion without a step"
        values = self.reader.criterion(row)
        step = self.sections[-1]["step"][-1]
        critical = values.pop("critical", False)
        if critical:
            step["critical"] = True
        self._add_criterion(row, values)
        points = f", {counted(values['points'], 'point')}" if "points" in values else ""
        return f"criterion of {step['title']}{points}"

    def _add_criterion(self, row: int, values: dict[str, Any]) -> None:
        step = self.sections[-1]["step"][-1]
        criteria = step.setdefault("criteria", [])
        values["id"] = values.get("id") or unlike(slug(values["text"], "part"), [one["id"] for one in criteria])
        way = ("section", len(self.sections) - 1, "step", len(self.sections[-1]["step"]) - 1)
        self.made.rows[(*way, "criteria", len(criteria))] = row
        criteria.append(values)

    def _turn_section(self, row: int) -> None:
        """Open the section that a column names, or a first one where nothing does."""
        named = "" if self.meaning.exact else self.reader.cell(row, "section")
        if named and (not self.sections or self.sections[-1]["title"] != read_section(named)):
            self.open_section(row, read_section(named), {})
        elif not self.sections:
            self.open_section(row, "Steps", {})

    def _told(self, values: dict[str, Any]) -> str:
        told = [counted(values["points"], "point") if "points" in values else ""]
        told += ["critical" if values.get("critical") else "", " and ".join(values.get("sides", ()))]
        return "".join(f", {part}" for part in told if part)


def _sheet(grid: Grid, meaning: Meaning, made: Made, body: _Body, name: str) -> dict[str, Any]:
    about = _about(grid, meaning, made)
    steps = [step for section in body.sections for step in section["step"]]
    title = meaning.said.title or about.get("title") or _title(grid, meaning) or stem(name)
    levels = [level for level in meaning.levels if level.word.strip()]
    guessed: dict[str, Any] = {
        "form": 2,
        "id": slug(title, "sheet"),
        "summary": f"{counted(len(steps), 'step')}, imported from {name}.",
        "notice": NOTICE,
        "scale": scale_values(" / ".join(level.word for level in levels), levels, meaning.hidden),
    }
    for row, kind in enumerate(meaning.kinds):
        text = " ".join(cell.strip() for cell in grid.rows[row] if cell.strip())
        if kind == "note":
            guessed.setdefault("notes", []).append(text)
        elif kind == "rule":
            found = read_rule(text)
            guessed |= found
            made.became[row] = _rule_words(found)
    chosen = {"id": meaning.said.id} if meaning.said.id else {}
    if meaning.said.levels is not None:
        about.pop("scale", None)
    return {**guessed, **about, **chosen, "title": title, "section": body.sections}


def _rule_words(found: dict[str, Any]) -> str:
    words = [f"{percent(found['pass']['share'])} of the points to pass"] if "pass" in found else []
    words += [f"at most {found['limit_s']:g} s"] if "limit_s" in found else []
    return ", ".join(words) or "nothing could be read of it"


def _about(grid: Grid, meaning: Meaning, made: Made) -> dict[str, Any]:
    rows = [(row, grid.rows[row]) for row, kind in enumerate(meaning.kinds) if kind == "about"]
    return read_about(rows, lambda row, text: made.faults.append(Fault(0, text, where=f"row {row + 1}")))


def _title(grid: Grid, meaning: Meaning) -> str:
    for row, kind in enumerate(meaning.kinds):
        if kind == "title":
            return " ".join(cell.strip() for cell in grid.rows[row] if cell.strip())
    return ""


def _remarks(grid: Grid, meaning: Meaning, made: Made, body: _Body) -> list[str]:
    told = []
    steps = [step for section in body.sections for step in section["step"]]
    if not steps:
        told.append("No row became a step. Say which column holds the steps, and in which row the headings stand.")
    if meaning.assumed and not meaning.exact:
        told.append("The table names no grade scale; done / not done is taken. Change it if yours differs.")
    if not meaning.exact and not meaning.assumed and not any(level.counted for level in meaning.levels):
        shares = ", ".join(f"{level.word} {level.worth:g}" for level in meaning.levels)
        told.append(f"Share of a step's points that each grade gives: {shares}.")
    if body.without["caution"] and not meaning.exact:
        count = f"{body.without['caution']} of {counted(len(steps), 'step')}"
        told.append(f"Without a caution of their own: {count}. They get: {meaning.said.caution or CAUTION}")
    if body.starred:
        told.append(f"Critical, as they have a star or are called so in the title: {counted(body.starred, 'step')}.")
    told += _total(grid, meaning, steps)
    unused = [
        f"{letter(column)} ({heading})"
        for column, (heading, role) in enumerate(zip(meaning.headings, meaning.roles, strict=True))
        if role == "skip" and heading
    ]
    return [*told, *([f"Columns left out: {', '.join(unused)}."] if unused else [])]


def _total(grid: Grid, meaning: Meaning, steps: Sequence[dict[str, Any]]) -> list[str]:
    """Hold the total that the table states against what the steps add up to."""
    most = next((level.worth for level in meaning.levels if level.counted), 1.0)
    total = sum(_points(step, most) for step in steps)
    told = []
    for row, kind in enumerate(meaning.kinds):
        if kind != "total" or not total:
            continue
        stated = [
            number_of(part) for cell in grid.rows[row] for part in cell.replace("_", " ").replace("/", " ").split()
        ]
        numbers = [number for number in stated if number]
        if numbers and not any(isclose(number, total) for number in numbers) and "sub" not in grid.rows[row][0].lower():
            told.append(f"Row {row + 1} states a total of {max(numbers):g}; the steps add up to {total:g} points.")
    return told


def _points(step: dict[str, Any], most: float) -> float:
    """Return the points of a step as its checklist will have them, on each side."""
    parts = [float(part.get("points", 0)) for part in step.get("criteria", ())]
    points = float(step.get("points", sum(parts) or most))
    return points * float(step.get("weight", 1)) * max(1, len(step.get("sides", ())))
