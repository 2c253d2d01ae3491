"""What a table says of the sheet as a whole: in the lines that are written above our own, and in those of others."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final

from review.domain.checklist import NOT_ASSESSABLE, Checklist, GradeLevel, PassRule
from review.exchange.sheets.levels import number_of
from review.exchange.sheets.titles import read_switch

Row = Sequence[str]

TEXTS: Final[Mapping[str, tuple[str, ...]]] = {
    "checklist": ("title",),
    "id of the checklist": ("id",),
    "summary": ("summary",),
    "notice": ("notice",),
    "scale": ("scale", "name"),
    "word for not assessable": ("scale", NOT_ASSESSABLE),
    "level that is enough for a critical step": ("pass", "critical_level"),
}
NUMBERS: Final[Mapping[str, tuple[str, ...]]] = {
    "time limit in seconds": ("limit_s",),
    "share to pass": ("pass", "share"),
    "share to pass in each section": ("pass", "section_share"),
}
SWITCHES: Final[Mapping[str, tuple[str, ...]]] = {
    "critical steps must be done": ("pass", "critical"),
    "time limits must be kept": ("pass", "time"),
}
LEVEL: Final = "level"
NOTE: Final = "note"

_SHARE: Final = re.compile(r"(\d{1,3}(?:[.,]\d+)?)\s*(?:%|percent)", re.I)
_OF: Final = re.compile(r"(\d{1,4}(?:[.,]\d+)?)\s*(?:/|of|out of)\s*(\d{1,4}(?:[.,]\d+)?)", re.I)
_TIME: Final = re.compile(r"(\d{1,4}(?:[.,]\d+)?)\s*(min|sec|s\b)", re.I)


def about_rows(sheet: Checklist) -> list[list[str | float]]:
    """Return the lines that say what a checklist is as a whole: a word and what it stands for."""
    values: dict[tuple[str, ...], Any] = {
        ("title",): sheet.title,
        ("id",): sheet.id,
        ("summary",): sheet.summary,
        ("notice",): sheet.notice,
        ("limit_s",): sheet.limit_s,
        ("scale", "name"): sheet.scale.name,
        ("scale", NOT_ASSESSABLE): sheet.scale.level(NOT_ASSESSABLE).word,
        ("pass", "share"): sheet.rule.share,
        ("pass", "section_share"): sheet.rule.section_share,
        ("pass", "critical"): "yes" if sheet.rule.critical else "no",
        ("pass", "critical_level"): sheet.rule.critical_level,
        ("pass", "time"): "yes" if sheet.rule.time else None,
    }
    rows: list[list[str | float]] = []
    for word, way in {**TEXTS, **NUMBERS, **SWITCHES}.items():
        if values[way] is not None:
            rows.append([_capital(word), values[way]])
        if way == ("scale", "name"):
            rows += [_level_row(level) for level in sheet.scale.worth]
    return rows + [[_capital(NOTE), note] for note in sheet.notes]


def _level_row(level: GradeLevel) -> list[str | float]:
    worth: list[str | float] = ["share", level.share or 0.0] if level.points is None else ["points", level.points]
    return [_capital(LEVEL), level.key, level.word, *worth]


def _capital(word: str) -> str:
    return word[:1].upper() + word[1:]


def read_about(rows: Sequence[tuple[int, Row]], fault: Callable[[int, str], None]) -> dict[str, Any]:
    """Read the lines that `about_rows` makes.

    Parameters
    ----------
    rows
        Number and cells of each line.
    fault
        Told the number of a line and what is wrong with it.

    Returns
    -------
    dict
        Values in the shape of a checklist file.
    """
    values: dict[str, Any] = {}
    for number, cells in rows:
        word, said = cells[0].strip().lower(), cells[1].strip() if len(cells) > 1 else ""
        if word == LEVEL:
            values.setdefault("scale", {}).setdefault("levels", []).append(_level(number, cells, fault))
        elif word == NOTE:
            values.setdefault("notes", []).append(said)
        elif word in TEXTS:
            _put(values, TEXTS[word], said)
        elif word in NUMBERS:
            _put(values, NUMBERS[word], _read(number, said, number_of(said), "a number such as 0.8", fault))
        elif word in SWITCHES:
            _put(values, SWITCHES[word], _read(number, said, read_switch(said), "yes or no", fault))
    if values.get("pass") == {"critical": True} == {"critical": PassRule().critical}:
        del values["pass"]
    return values


def is_about(cells: Row) -> bool:
    """Tell whether a row is a line that `about_rows` makes."""
    return bool(cells) and cells[0].strip().lower() in {*TEXTS, *NUMBERS, *SWITCHES, LEVEL, NOTE}


def _level(number: int, cells: Row, fault: Callable[[int, str], None]) -> dict[str, Any]:
    key, word, kind, worth = (*(cell.strip() for cell in cells[1:5]), "", "", "", "")[:4]
    kind = _read(number, kind, kind if kind in ("share", "points") else None, "share or points", fault) or "share"
    return {"key": key, "word": word, kind: _read(number, worth, number_of(worth), "a number such as 0.5", fault)}


def _read(number: int, said: str, found: Any, expected: str, fault: Callable[[int, str], None]) -> Any:
    if found is None:
        fault(number, f"{said!r} came; expected {expected}.")
    return found


def _put(values: dict[str, Any], way: Sequence[str], value: Any) -> None:
    for key in way[:-1]:
        values = values.setdefault(key, {})
    if value is not None:
        values[way[-1]] = value


def read_rule(text: str) -> dict[str, Any]:
    """Return what a line of a school's own sheet says of passing and of time, in the shape of a checklist file.

    Examples
    --------
    >>> read_rule("Passing score: 80 %"), read_rule("Must score 32/40 to pass"), read_rule("Time limit: 15 minutes")
    ({'pass': {'share': 0.8}}, {'pass': {'share': 0.8}}, {'limit_s': 900.0})
    """
    found: dict[str, Any] = {}
    share, part, time = _SHARE.search(text), _OF.search(text), _TIME.search(text)
    if share:
        found["pass"] = {"share": round((number_of(share[1]) or 0.0) / 100, 6)}
    elif part and (number_of(part[2]) or 0.0) > 0:
        found["pass"] = {"share": round((number_of(part[1]) or 0.0) / (number_of(part[2]) or 1.0), 6)}
    if time:
        found["limit_s"] = (number_of(time[1]) or 0.0) * (60 if time[2].lower() == "min" else 1)
    return found
