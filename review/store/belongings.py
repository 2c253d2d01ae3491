"""All that belongs to one recording: its rows in every table that there is, its texts, its files."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any, Final

from sqlalchemy import JSON, ColumnClause, Select, Text, column, func, inspect, select, table
from sqlalchemy.orm import Session

from review.domain.model import Recording
from review.domain.receipt import ErasedFile
from review.store.erasing import uploads_of
from review.store.home import Home
from review.store.media import media_folder
from review.store.probing import place_of

OUTLIVING: Final = frozenset({"looks", "receipts"})
"""Tables that refer to recordings and are kept when one is erased; they hold nobody's words."""

_RECORDINGS: Final = "recordings"
_OF: Final = "recording_id"
_BY: Final = "person_id"
_SECRET: Final = frozenset({"accounts", "logins"})


class Belongings:
    """The rows of recordings and people in all tables, which the database itself names: a new one is not forgotten."""

    def __init__(self, session: Session) -> None:
        self._session = session
        looked = inspect(session.connection())
        self._columns = {
            name: {one["name"]: one["type"] for one in looked.get_columns(name)} for name in looked.get_table_names()
        }

    def rows(self, recording_id: str, kept: bool = False) -> Mapping[str, int]:
        """Count the rows of a recording by table, tables without any left out; with `kept` those that outlive it."""
        found = {name: self._count(name, key, recording_id) for name, key in self._tables(kept)}
        return {name: count for name, count in found.items() if count}

    def _tables(self, kept: bool) -> Iterator[tuple[str, str]]:
        for name, columns in sorted(self._columns.items()):
            if name == _RECORDINGS and not kept:
                yield name, "id"
            elif _OF in columns and (name in OUTLIVING) is kept:
                yield name, _OF

    def _count(self, name: str, key: str, recording_id: str) -> int:
        asked = select(func.count()).select_from(table(name)).where(column(key) == recording_id)
        return self._session.scalar(asked) or 0

    def texts(self, recording_id: str) -> set[str]:
        """Return all that people wrote about a recording, in every revision."""
        found: set[str] = set()
        for name, key in self._tables(kept=False):
            for one in self._written(name):
                asked: Select[str] = (
                    select(column(one, Text)).select_from(table(name)).where(column(key) == recording_id)
                )
                found.update(filter(None, self._session.scalars(asked)))
        return found

    def is_elsewhere(self, text: str, recording_id: str) -> bool:
        """Tell whether a text also stands in something that does not belong to a recording, as in a kept phrase."""
        return any(
            self._session.scalar(
                select(func.count())
                .select_from(table(name))
                .where(func.replace(column(one, Text), text, "") != column(one, Text), *others)
            )
            for name in self._columns
            for others in [[column(_OF) != recording_id] if _OF in self._columns[name] else []]
            for one in self._written(name)
        )

    def of_person(self, person_id: str) -> dict[str, list[dict[str, Any]]]:
        """Return all rows that name a person as who did it, by table, with every revision; no secrets."""
        named = [name for name, columns in sorted(self._columns.items()) if _BY in columns and name not in _SECRET]
        found = {name: self._of_person(name, person_id) for name in named}
        return {name: rows for name, rows in found.items() if rows}

    def _of_person(self, name: str, person_id: str) -> list[dict[str, Any]]:
        columns = self._columns[name]
        asked = select(*(column(one, kind) for one, kind in columns.items())).select_from(table(name))
        order: list[ColumnClause[Any]] = [column(one) for one, kind in columns.items() if not isinstance(kind, JSON)]
        rows = self._session.execute(asked.where(column(_BY) == person_id).order_by(*order))
        return [dict(row) for row in rows.mappings()]

    def _written(self, name: str) -> list[str]:
        """Return the columns of a table that hold running text."""
        return [one for one, kind in self._columns[name].items() if isinstance(kind, Text)]


def places_of(home: Home, recording: Recording) -> list[Path]:
    """Return the folders and files that are a recording's: its film, its tracks, what lies beside those."""
    beside = sorted(home.tracks.glob(f"{recording.id}.*"))
    return [media_folder(home, recording.sha256), home.tracks / recording.id, *beside]


def files_in(place: Path) -> list[Path]:
    """Return the files of a folder and all folders in it, in a fixed order; of a file, itself."""
    return [place] if place.is_file() else [path for path in sorted(place.rglob("*")) if path.is_file()]


def files_of(home: Home, recording: Recording) -> list[Path]:
    """Return every file that an erasure of a recording removes, in a fixed order."""
    return [path for place in (*places_of(home, recording), *uploads_of(home, recording)) for path in files_in(place)]


def described(home: Home, path: Path) -> ErasedFile | None:
    """Return the place, size and SHA-256 of a file; None if it is gone already."""
    with suppress(FileNotFoundError), path.open("rb") as handle:
        return ErasedFile(place_of(home, path), path.stat().st_size, hashlib.file_digest(handle, "sha256").hexdigest())
    return None
