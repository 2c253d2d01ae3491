"""Check-off sheets as the page Checklists and the command line show them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any, Final

from review.access import Deed, may
from review.domain.checklist import Checklist
from review.domain.checklist_file import VIEWS
from review.domain.checklist_text import values_of
from review.domain.entries import KINDS as ENTRIES
from review.domain.errors import Fault, NotFound
from review.domain.model import Person
from review.exchange.sheets.exporting import table_of
from review.exchange.sheets.kinds import CHOICES, KINDS
from review.exchange.sheets.meaning import CAUTION, EXPECTED, said_of
from review.exchange.sheets.preview import Preview, likeliest, preview
from review.exchange.sheets.roles import ROLES
from review.exchange.sheets.spreadsheet import TYPES, read_tables, written
from review.measures import registry, units
from review.report.outcome_words import rule_words
from review.report.results import raters
from review.store.repository import Repository

FILES: Final[Mapping[str, str]] = {**TYPES, "toml": "application/toml; charset=utf-8"}
"""Kinds of files that a sheet is exported as, with their media types."""


def rows(repo: Repository) -> list[dict[str, Any]]:
    """Return one row a checklist, those offered for new attempts first, then by title.

    Returns
    -------
    list of dict
        Keys ``id, title, summary, version, versions, steps, points, critical, scale, rule, attempts, retired``;
        ``retired`` is since when, None for an offered one.
    """
    retired = repo.sheets().retired()
    found = [_row(repo, sheet, retired.get(sheet.id)) for sheet in repo.checklists()]
    return sorted(found, key=lambda row: (row["retired"] is not None, row["title"].lower(), row["id"]))


def _row(repo: Repository, sheet: Checklist, retired: datetime | None) -> dict[str, Any]:
    versions = repo.sheets().versions(sheet.id)
    return {
        "id": sheet.id,
        "title": sheet.title,
        "summary": sheet.summary,
        "version": sheet.version,
        "versions": len(versions),
        "steps": len(list(sheet.steps())),
        "points": sheet.points,
        "critical": sum(step.critical for step in sheet.steps()),
        "scale": [level.word for level in sheet.scale.worth],
        "rule": rule_words(sheet),
        "attempts": sum(version.attempts for version in versions),
        "retired": None if retired is None else retired.isoformat(timespec="minutes"),
    }


def shown(repo: Repository, person: Person, checklist_id: str, version: int | None = None) -> dict[str, Any]:
    """Return a checklist whole: its row, its values in the shape of its file, its versions, and who graded with it.

    Attempts that the person may not see are left out.

    Raises
    ------
    NotFound
        If there is none with this id and version.
    """
    sheet = repo.checklist(checklist_id, version)
    people = {person.id: person.code for person in repo.people()}
    return {
        **_row(repo, sheet, repo.sheets().retired().get(sheet.id)),
        "values": values_of(sheet),
        "stored": [
            {
                "version": one.version,
                "title": one.title,
                "by": people.get(one.saved_by or "", ""),
                "at": one.saved_at.isoformat(timespec="minutes") if one.saved_at else "",
                "attempts": one.attempts,
            }
            for one in repo.sheets().versions(sheet.id)
        ],
        "graded": _graded(repo, person, sheet),
    }


def _graded(repo: Repository, person: Person, sheet: Checklist) -> list[dict[str, Any]]:
    """Return the attempts made with this version that somebody graded, newest first, with the codes of who did."""
    found = []
    for recording in repo.recordings():
        used = (recording.checklist_id, recording.checklist_version) == (sheet.id, sheet.version)
        if used and may(person, Deed.SEE, recording):
            codes = [one.code for one in raters(repo, person, recording)]
            found.append({"id": recording.id, "name": recording.name, "attempt": recording.attempt, "raters": codes})
    return [one for one in found if one["raters"]]


def choices() -> dict[str, Any]:
    """Return the words that an author chooses among: measures with their units, views, typed results, columns, rows."""
    measures = sorted(registry().values(), key=lambda of: of.title)
    return {
        "measures": [{"name": of.name, "title": of.title, "unit": of.unit} for of in measures],
        "views": list(VIEWS),
        "entries": list(ENTRIES),
        "roles": [{"key": key, "words": words} for key, words in ROLES.items()],
        "kinds": [{"key": key, "words": KINDS[key]} for key in CHOICES],
    }


def file_of(repo: Repository, checklist_id: str, version: int | None, kind: str) -> tuple[str, bytes]:
    """Return a checklist as a file: its name and its bytes.

    Raises
    ------
    NotFound
        If there is no such checklist or no such kind of file.
    """
    if kind not in FILES:
        raise NotFound.among("kind of file", kind, FILES)
    sheet = repo.checklist(checklist_id, version)
    name = f"{sheet.id}_v{sheet.version}.{kind}"
    if kind == "toml":
        return name, repo.sheets().text(sheet.id, sheet.version).encode("utf-8")
    return name, written(kind, sheet.title, *table_of(sheet))


def look(name: str, content: bytes, table: int | None, said: Mapping[str, Any]) -> tuple[Preview, dict[str, Any]]:
    """Read a file as a checklist without storing it: see `review.exchange.sheets.preview.preview`.

    Parameters
    ----------
    name, content
        The file.
    table
        Which of its worksheets, from 0; None for the likeliest.
    said
        What the author said, as `review.exchange.sheets.meaning.said_of` reads it.

    Returns
    -------
    Preview, dict
        The preview; and the same as plain JSON values, for a page.
    """
    grids = read_tables(name, content)
    chosen = likeliest(grids) if table is None or not 0 <= table < len(grids) else table
    found = preview(grids[chosen], name, said_of(said), units())
    return found, {"tables": [grid.name for grid in grids], "table": chosen, **_preview(found)}


def _preview(found: Preview) -> dict[str, Any]:
    grid, meaning, made = found.grid, found.meaning, found.made
    steps = [step for section in made.values["section"] for step in section["step"]]
    return {
        "columns": [
            {"heading": heading, "role": role} for heading, role in zip(meaning.headings, meaning.roles, strict=True)
        ],
        "rows": [
            {"cells": list(cells), "kind": kind, "kind_words": KINDS[kind], "became": made.became.get(row, "")}
            for row, (cells, kind) in enumerate(zip(grid.rows, meaning.kinds, strict=True))
        ],
        "head": meaning.head.end,
        "levels": [{"word": level.word, "worth": level.worth, "counted": level.counted} for level in meaning.levels],
        "title": made.values["title"],
        "id": made.values["id"],
        "caution": meaning.said.caution or CAUTION,
        "expected": meaning.said.expected or EXPECTED,
        "remarks": made.remarks,
        "faults": faults(found.faults),
        "sections": len(made.values["section"]),
        "steps": len(steps),
        "criteria": sum(len(step.get("criteria", ())) for step in steps),
        "points": None if found.sheet is None else found.sheet.points,
        "values": made.values,
    }


def faults(found: tuple[Fault, ...]) -> list[dict[str, Any]]:
    """Return faults as plain JSON values: where, what, and the way to it."""
    return [{"where": fault.where, "text": fault.text, "way": list(fault.way)} for fault in found]
