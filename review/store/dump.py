"""All rows of a database as lines of text, and back, whichever kind of database it was or will be."""

from __future__ import annotations

import gzip
import json
from collections.abc import Iterator
from datetime import date
from itertools import groupby
from pathlib import Path
from typing import Any, Final, cast

from sqlalchemy import JSON, Connection, Date, Integer, MetaData, Table, insert, select, text
from sqlalchemy.orm import Session

from review.domain.errors import InputError
from review.store.database import open_database
from review.store.forms import newest_form
from review.store.home import Home

_FORM_TABLE: Final = "alembic_version"
_BATCH: Final = 500

Line = tuple[str, dict[str, Any]]
"""The name of a table, and one of its rows."""


def dump(session: Session, place: Path) -> dict[str, int]:
    """Write all rows, as one transaction sees them, to a file of gzipped JSON lines; return how many by table.

    The first line tells the form of the database, each further one a table and a row, in an order in which rows come
    after those they refer to. It holds password hashes and what people wrote: keep it as you keep the database.
    """
    counts: dict[str, int] = {}
    connection = session.connection()
    with gzip.open(place, "wt", encoding="utf-8", compresslevel=6) as out:
        out.write(json.dumps({"form": _form(connection)}) + "\n")
        for one in _tables(connection):
            counts[one.name] = 0
            for row in connection.execute(select(one).order_by(*one.primary_key.columns)).mappings():
                out.write(json.dumps([one.name, dict(row)], ensure_ascii=False, default=date.isoformat) + "\n")
                counts[one.name] += 1
    return counts


def load(home: Home, place: Path) -> None:
    """Fill the empty database of a home with dumped rows, and bring it to the newest form.

    Raises
    ------
    InputError
        If the file is no dump, is of a newer version, or the database already holds something; nothing is changed.
    """
    lines = _lines(place)
    form = str(next(lines)[1]["form"])
    database = open_database(home, form)
    with database.transaction() as session:
        connection = session.connection()
        tables = {one.name: one for one in _tables(connection)}
        _expect_empty(connection, tables, home)
        for name, rows in groupby(lines, key=lambda line: line[0]):
            _fill(connection, tables[name], (row for _, row in rows))
        for one in tables.values():
            _go_on_counting(connection, one)
    if form != newest_form():
        open_database(home)


def _tables(connection: Connection) -> list[Table]:
    """Return the tables that there are, those that others refer to first."""
    found = MetaData()
    found.reflect(connection)
    for one in found.tables.values():
        for column in one.columns:
            if isinstance(column.type, JSON):
                column.type = JSON(none_as_null=True)
    return [one for one in found.sorted_tables if one.name != _FORM_TABLE]


def _form(connection: Connection) -> str:
    return str(connection.scalar(text(f"SELECT version_num FROM {_FORM_TABLE}")))


def _lines(place: Path) -> Iterator[Line]:
    """Yield the first line under an empty name, then tables and rows."""
    try:
        with gzip.open(place, "rt", encoding="utf-8") as lines:
            yield "", json.loads(next(lines))
            for line in lines:
                yield cast("Line", tuple(json.loads(line)))
    except (OSError, EOFError, StopIteration, ValueError) as error:
        raise InputError(f"{place} is no whole dump of a database ({error}). Take another backup.") from error


def _expect_empty(connection: Connection, tables: dict[str, Table], home: Home) -> None:
    filled = [name for name, one in tables.items() if connection.execute(select(one).limit(1)).first() is not None]
    if filled:
        raise InputError(
            f"The database of {home.root} holds something already ({', '.join(filled)}); expected an empty one. Name "
            "another home, or another database in its settings. Nothing was changed."
        )


def _fill(connection: Connection, into: Table, rows: Iterator[dict[str, Any]]) -> None:
    days = [column.name for column in into.columns if isinstance(column.type, Date)]
    batch: list[dict[str, Any]] = []
    for row in rows:
        batch.append({**row, **{name: date.fromisoformat(row[name]) for name in days if row[name] is not None}})
        if len(batch) == _BATCH:
            connection.execute(insert(into), batch)
            batch.clear()
    if batch:
        connection.execute(insert(into), batch)


def _go_on_counting(connection: Connection, one: Table) -> None:
    """Have a server number new rows after those that came; a file does so by itself."""
    (key, *more) = one.primary_key.columns
    if connection.dialect.name == "postgresql" and not more and isinstance(key.type, Integer):
        newest = f"SELECT setval(pg_get_serial_sequence('{one.name}', '{key.name}'), max({key.name})) FROM {one.name}"
        connection.execute(text(newest))
