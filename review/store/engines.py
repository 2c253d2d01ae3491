"""The two kinds of database a home may have: a SQLite file in it, or a PostgreSQL server."""

from __future__ import annotations

import os
import shutil
import sqlite3
from contextlib import closing, suppress
from functools import lru_cache
from pathlib import Path
from typing import Any, Final, Protocol

from sqlalchemy import Connection, Engine, NullPool, create_engine, event, make_url, text
from sqlalchemy.exc import DatabaseError, OperationalError

PATIENCE_S: Final = 20.0
"""How long a transaction that writes waits for another one to end."""

_FULL_BYTES: Final = 1_000_000
_WRITERS: Final = 7_236_112
"""Key of the advisory lock that transactions which write hold, one at a time, as they do on a SQLite file."""

_OUR_TABLES: Final = "SELECT quote_ident(tablename) FROM pg_tables WHERE schemaname = current_schema()"

_ELSEWHERE: Final = 10
"""Connections to a server that a process keeps; twice as many more for a moment."""


class Kind(Protocol):
    """A kind of database: how its transactions begin, what it is called, and what to do when it fails."""

    @property
    def engine(self) -> Engine:
        """What connects; kept, since it remembers each statement that it has put into SQL."""

    @property
    def name(self) -> str:
        """What the database is called in messages; without a password."""

    def form(self) -> str | None:
        """Return the form it is in, None where there is none or it cannot be told quickly."""

    @property
    def keeps(self) -> tuple[str, ...]:
        """What may still hold rows that were erased, out of this program's reach; for receipts."""

    def scrub(self) -> None:
        """Rewrite what holds rows, so that what was erased is not in it."""

    def advice(self, cause: str) -> str:
        """Say what to do about a failure."""


class SqliteFile:
    """A SQLite file: the default."""

    keeps = ()

    def __init__(self, path: Path) -> None:
        self.path = path
        self.engine = _sqlite(path)
        self.name = str(path)

    def form(self) -> str | None:
        """Return the form of the file without an engine, since pages open it often."""
        if not self.path.exists():
            return None
        with suppress(sqlite3.Error), closing(sqlite3.connect(self.path, timeout=PATIENCE_S)) as connection:
            found = connection.execute("SELECT version_num FROM alembic_version").fetchone()
            return None if found is None else str(found[0])
        return None

    def scrub(self) -> None:
        """Write the file anew and empty the write-ahead log into it, so that what was erased is in neither of them.

        What SQLite deletes it overwrites; copies of rows that it moved within a page it does not, so the file is
        written anew. Where another process is writing for long, that is left out.
        """
        connection = self.engine.raw_connection()
        try:
            cursor = connection.cursor()
            cursor.execute("PRAGMA temp_store = MEMORY")
            with suppress(sqlite3.OperationalError):
                cursor.execute("VACUUM")
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        finally:
            connection.close()

    def advice(self, cause: str) -> str:
        """Say what to do about a failure of the file."""
        if "locked" in cause:
            return "Another process is writing for long; wait and try again."
        if "full" in cause or shutil.disk_usage(self.path.parent).free < _FULL_BYTES:
            return "Make room on the disk and try again."
        return "Put a copy of the file back in its place, or name another home."


@lru_cache(maxsize=8)
def _sqlite(path: Path) -> Engine:
    engine = create_engine(f"sqlite:///{path}", poolclass=NullPool, connect_args={"timeout": PATIENCE_S})
    event.listen(engine, "connect", _prepare_file)
    event.listen(engine, "begin", _begin_on_file)
    return engine


def _prepare_file(connection: Any, record: object) -> None:
    connection.isolation_level = None
    for pragma in ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON", "secure_delete = ON"):
        connection.execute(f"PRAGMA {pragma}").close()


def _begin_on_file(connection: Connection) -> None:
    writing = connection.get_execution_options().get("writing", True)
    connection.exec_driver_sql(f"PRAGMA query_only = {'OFF' if writing else 'ON'}")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")


class PostgresServer:
    """A database on a PostgreSQL server, for a school's many processes and machines.

    Transactions keep the promises they make on a file: those that write do so one after the other, and each sees what
    the one before it wrote; one that reads sees one state throughout and may not write.
    """

    keeps = ("the database server's write-ahead log and backups keep erased rows until the server recycles them",)

    def __init__(self, address: str) -> None:
        url = make_url(address)
        self.engine = _postgres(url.set(drivername="postgresql+psycopg").render_as_string(hide_password=False))
        self.name = f"{url.database} at {url.host or 'this machine'}"

    def form(self) -> str | None:
        """Return the form of the database."""
        with suppress(DatabaseError), self.engine.execution_options(writing=False).begin() as connection:
            found: str | None = connection.scalar(text("SELECT version_num FROM alembic_version"))
            return found
        return None

    def scrub(self) -> None:
        """Write every table anew, so that the rows erased are not in its files any more, nor in its statistics.

        Where another process reads or writes for long, that is left out. What the server's log keeps, `keeps` says.
        """
        with self.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
            connection.exec_driver_sql(f"SET lock_timeout = '{PATIENCE_S:.0f}s'")
            tables = connection.scalars(text(_OUR_TABLES)).all()
            with suppress(OperationalError):
                connection.exec_driver_sql(f"VACUUM (FULL, ANALYZE) {', '.join(tables)}")
                connection.exec_driver_sql("VACUUM (FULL) pg_catalog.pg_statistic")

    def advice(self, cause: str) -> str:
        """Say what to do about a failure of the server."""
        if "lock timeout" in cause:
            return "Another process is writing for long; wait and try again."
        if "No space left" in cause:
            return "Make room on the server's disk and try again."
        return "See that the server runs and that the address in the settings is right, then try again."


@lru_cache(maxsize=8)
def _postgres(address: str) -> Engine:
    engine = create_engine(
        address,
        pool_size=_ELSEWHERE,
        max_overflow=2 * _ELSEWHERE,
        pool_pre_ping=True,
        connect_args={"connect_timeout": int(PATIENCE_S), "application_name": "runthrough"},
    )
    event.listen(engine, "begin", _begin_on_server)
    os.register_at_fork(after_in_child=lambda: engine.dispose(close=False))
    return engine


def _begin_on_server(connection: Connection) -> None:
    options = connection.get_execution_options()
    if options.get("isolation_level") == "AUTOCOMMIT":
        return
    if not options.get("writing", True):
        connection.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        return
    connection.exec_driver_sql(f"SET LOCAL lock_timeout = '{PATIENCE_S:.0f}s'")
    connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_WRITERS})")
