"""Counting what is asked of the database."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Final

from sqlalchemy import Engine, event

_OF_CONNECTIONS: Final = (
    "PRAGMA",
    "BEGIN",
    "SET TRANSACTION ",
    "SET LOCAL lock_timeout",
    "SELECT pg_advisory_xact_lock",
    "SELECT version_num FROM alembic_version",
)
"""How transactions begin and databases are opened, on a file and on a server."""


@contextmanager
def statements() -> Iterator[list[str]]:
    """Collect the SQL statements that run inside, transactions and settings of the connection left out."""
    found: list[str] = []

    def note(connection: Any, cursor: Any, statement: str, *rest: Any) -> None:
        if not statement.startswith(_OF_CONNECTIONS):
            found.append(statement)

    event.listen(Engine, "before_cursor_execute", note)
    try:
        yield found
    finally:
        event.remove(Engine, "before_cursor_execute", note)
