"""The tables of the Class page as files: what the screen shows, with a codebook."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any, Final

from review.domain.errors import NotFound
from review.exchange.class_columns import CLASS_TABLES
from review.exchange.columns import CODEBOOK, Row, codebook
from review.exchange.csv_text import write_csv

Told = Mapping[str, Any]


def class_csv(told: Told, name: str) -> tuple[str, str]:
    """Return a table of a class as CSV, with the name of its file.

    Parameters
    ----------
    told
        What `review.report.cohort.cohort` returned.
    name
        A key of `CLASS_TABLES`, or ``codebook``.

    Raises
    ------
    NotFound
        If there is no such table.
    """
    if name == "codebook":
        return "class_codebook.csv", write_csv(CODEBOOK, codebook((*CLASS_TABLES.values(), CODEBOOK)))
    if name not in CLASS_TABLES:
        raise NotFound.among("table of a class", name, [*CLASS_TABLES, "codebook"])
    rows = [] if told["sheet"] is None else _ROWS[name](told)
    return f"{CLASS_TABLES[name].name}.csv", write_csv(CLASS_TABLES[name], rows)


def _waiting(told: Told) -> list[Row]:
    return [
        {
            "recording_id": row["recording"],
            "recording_name": row["name"],
            "learner": row["learner"],
            "attempt": row["attempt"],
            "since": datetime.fromisoformat(row["since"]),
            "days": row["days"],
            "waits_for": row["words"],
        }
        for row in told["waiting"]
    ]


def _steps(told: Told) -> list[Row]:
    return [
        {
            "checklist_id": told["sheet"]["id"],
            "attempts": told["which"],
            "section_title": row["section"],
            "step_id": row["step"],
            "step_title": row["title"],
            "pairs_agreed": row["agreed"],
            "pairs": row["of"],
            **{key: row[key] for key in ("side", "critical", "graded", "mean", "covered")},
            **_kinds(row),
            **_figure("discrimination", row["discrimination"]),
            "discrimination_attempts": row["discrimination"]["count"],
        }
        for row in told["steps"]
    ]


def _kinds(row: Told) -> dict[str, Any]:
    found = {one["kind"].replace(" ", "_"): one for one in row["kinds"]}
    told: dict[str, Any] = {}
    for kind in ("fully", "partly", "not_done", "not_assessable"):
        one = found.get(kind, {"count": None, "share": None, "low": None, "high": None})
        told |= {kind: one["count"], **_figure(f"{kind}_share", {**one, "value": one["share"]})}
    return told


def _figure(name: str, figure: Told) -> dict[str, Any]:
    return {name: figure["value"], f"{name}_low": figure["low"], f"{name}_high": figure["high"]}


def _learners(told: Told) -> list[Row]:
    return [
        {
            "checklist_id": told["sheet"]["id"],
            "attempts_waiting": row["waits"],
            "points_least": row["least"],
            "points_most": row["most"],
            "outcome": row["outcome"] or "",
            "critical_missed": "; ".join(row["critical"]),
            "missing": " ".join(row["missing"]),
            "last_passed_attempt": row["last_good"] and row["last_good"]["attempt"],
            "last_passed_day": row["last_good"] and row["last_good"]["day"],
            **{key: row[key] for key in ("learner", "attempts", "attempt", "day", "covered", "words")},
        }
        for row in told["learners"]
    ]


def _cut(told: Told) -> list[Row]:
    found = [] if told["cut"] is None else [told["cut"]["regression"], told["cut"]["angoff"]]
    return [
        {
            "checklist_id": told["sheet"]["id"],
            "method": one["name"],
            **_figure("cut", one),
            "rests_on": one["count"],
            "words": " ".join(one["words"]),
        }
        for one in found
    ]


_ROWS: Final[Mapping[str, Callable[[Told], list[Row]]]] = {
    "waiting": _waiting,
    "steps": _steps,
    "learners": _learners,
    "cut": _cut,
}
