"""Reading our own tables of marks and of comments back."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any, Final
from uuid import UUID

from review.exchange.columns import COMMENTS, MARKS, TABLES, Table
from review.exchange.csv_text import read_csv
from review.exchange.said import SCHEMA_VERSION, Author, Heard, SaidComment, SaidMark, read_moment, read_side, whole_ms

_SHAPE: Final = ("x", "y", "x2", "y2")


def read_table(text: str) -> Heard:
    """Read a table of ours; what is wrong with it stands in the answer's faults, all at once.

    Tables of grades, entries and values are known and not read back: their rows are counted.
    """
    heard = Heard()
    try:
        rows = read_csv(text)
    except ValueError as error:
        heard.faults.append(str(error))
        return heard
    if not rows:
        heard.pass_over("empty table")
        return heard
    table = _table_of(rows[0][1], heard)
    for line, row in rows if table else ():
        _hear(heard, table, f"line {line}", row)
    return heard


def _table_of(row: Mapping[str, str], heard: Heard) -> Table | None:
    """Return the table whose columns these are; spreadsheets may have added some, or put them in another order."""
    missing = {table.name: [one.name for one in table.columns if one.name not in row] for table in TABLES.values()}
    for name, lacking in missing.items():
        if not lacking:
            return TABLES[name]
    near = min((MARKS.name, COMMENTS.name), key=lambda name: len(missing[name]))
    heard.faults.append(f"line 1: these are not the columns of {near}.csv; missing: {', '.join(missing[near][:8])}")
    return None


def _hear(heard: Heard, table: Table | None, where: str, row: Mapping[str, str]) -> None:
    try:
        if row["schema_version"] != str(SCHEMA_VERSION):
            raise ValueError(
                f"it is of version {row['schema_version'][:20]}; expected {SCHEMA_VERSION}: export it anew"
            )
        heard.films.add(_sum(row["film_sha256"]))
        if table is MARKS:
            heard.marks.append((where, SaidMark(**_shared(row, "mark_id", "marked_at"), step=row["step_id"])))
        elif table is COMMENTS:
            heard.comments.append((where, _comment(row)))
        elif table is not None:
            heard.pass_over(table.name)
    except (ValueError, OverflowError) as error:
        heard.faults.append(f"{where}: {error}")


def _comment(row: Mapping[str, str]) -> SaidComment:
    return SaidComment(
        **_shared(row, "comment_id", "written_at"),
        step=row["step_id"] or None,
        text=row["text"],
        reply_to=str(_read(row, "reply_to", UUID, "a UUID")) if row["reply_to"] else None,
        shape=_shape(row),
        settled=row["settled"] == "yes",
    )


def _shape(row: Mapping[str, str]) -> dict[str, Any] | None:
    if not row["shape_kind"]:
        return None
    places = {name: _read(row, f"shape_{name}", float, "a number") for name in _SHAPE if row[f"shape_{name}"]}
    return {"kind": row["shape_kind"], **places}


def _shared(row: Mapping[str, str], ident: str, at: str) -> dict[str, Any]:
    """Return what marks and comments have in common."""
    return {
        "id": str(_read(row, ident, UUID, "a UUID")),
        "side": read_side(row["side"]),
        "onset_ms": _ms(row, "onset"),
        "offset_ms": _ms(row, "offset"),
        "by": Author(row["rater"], row["role"]),
        "at": _read(row, at, read_moment, "a moment such as 2026-05-04T10:00:00Z"),
    }


def _ms(row: Mapping[str, str], end: str) -> int:
    """Return an end in milliseconds; both of its columns must say the same."""
    whole = whole_ms(_read(row, f"{end}_ms", int, "whole milliseconds") / 1000)
    seconds = _read(row, f"{end}_s", float, "seconds")
    if abs(whole_ms(seconds) - whole) > 1:
        raise ValueError(f"{end}_s says {seconds} and {end}_ms {whole}; expected the same: change both or none")
    return whole


def _read(row: Mapping[str, str], name: str, kind: Callable[[str], Any], expected: str) -> Any:
    try:
        return kind(row[name])
    except ValueError:
        raise ValueError(f"{name} is {row[name][:40]!r}; expected {expected}") from None


def _sum(text: str) -> str:
    if not re.fullmatch(r"[0-9a-f]{64}", text):
        raise ValueError(f"film_sha256 is {text[:70]!r}; expected 64 hexadecimal digits")
    return text
