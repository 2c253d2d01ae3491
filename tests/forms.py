"""Databases to begin tests with: empty ones, made by all migrations once copied from then on; earlier forms; copies."""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from uuid import uuid4

import psycopg
import pytest
from sqlalchemy import Engine, create_engine

from review.store import database
from review.store.forms import bring_to
from review.store.home import Home
from review.store.settings import settings_of


@contextmanager
def copied_when_new(folder: Path) -> Iterator[None]:
    """Have each new SQLite file begin as a copy of the first; what is there already goes through the migrations."""
    first = folder / "first.db"

    def bring(engine: Engine, name: str, form: str | None = None) -> None:
        path = Path(engine.url.database or "")
        new = form is None and engine.dialect.name == "sqlite" and not path.exists()
        if new and first.exists():
            shutil.copyfile(first, path)
            return
        bring_to(engine, name, form)
        if new:
            with closing(sqlite3.connect(path)) as made, closing(sqlite3.connect(first)) as copy:
                made.backup(copy)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(database, "bring_to", bring)
        yield


def copy_rows(old: Path, new: Path) -> None:
    """Give the home in a folder, which nobody has open, a copy of another one's SQLite file in place of its own."""
    old, new = Home(old).database, Home(new).database
    for suffix in ("-wal", "-shm"):
        new.with_name(new.name + suffix).unlink(missing_ok=True)
    for suffix in ("", "-wal"):
        source = old.with_name(old.name + suffix)
        if source.exists():
            shutil.copy(source, new.with_name(new.name + suffix))


def kept(home: Home) -> Callable[[], None]:
    """Keep a copy of the rows of a home that nobody has open; return what puts them back, once."""
    address = settings_of(home).database
    if address is not None:
        return _kept_on_server(address.get_secret_value())
    copy = Path(tempfile.mkdtemp(prefix="kept", dir=home.root.parent))
    copy_rows(home.root, copy)

    def put_back() -> None:
        copy_rows(copy, home.root)
        shutil.rmtree(copy)

    return put_back


def _kept_on_server(address: str) -> Callable[[], None]:
    schema = f"kept_{uuid4().hex}"
    with psycopg.connect(address, autocommit=True) as connection:
        found = connection.execute("SELECT tablename FROM pg_tables WHERE schemaname = 'public'").fetchall()
        copies = "".join(f"CREATE TABLE {schema}.{name} AS TABLE public.{name};" for (name,) in found)
        connection.execute(f"CREATE SCHEMA {schema};{copies}")

    def put_back() -> None:
        rows = "".join(f"DELETE FROM {name}; INSERT INTO {name} TABLE {schema}.{name};" for (name,) in found)
        with psycopg.connect(address, autocommit=True) as connection:
            connection.execute(f"SET session_replication_role = replica;{rows}DROP SCHEMA {schema} CASCADE")

    return put_back


def held(home: Home) -> bytes:
    """Return all bytes that the database of a home keeps, whatever was deleted in it."""
    address = settings_of(home).database
    if address is None:
        return b"".join(path.read_bytes() for path in sorted(home.root.glob(f"{home.database.name}*")))
    with psycopg.connect(address.get_secret_value(), autocommit=True) as connection:
        connection.execute("CHECKPOINT")
        (folder, number) = connection.execute(
            "SELECT current_setting('data_directory'), oid FROM pg_database WHERE datname = current_database()"
        ).fetchone() or ("", 0)
    return b"".join(path.read_bytes() for path in sorted(Path(folder, "base", str(number)).iterdir()))


@contextmanager
def of_form(home: Home, form: str) -> Iterator[sqlite3.Connection]:
    """Make the database of a home in an earlier form; what the connection puts in is kept on leaving."""
    engine = create_engine(f"sqlite:///{home.database}")
    bring_to(engine, str(home.database), form)
    engine.dispose()
    with closing(sqlite3.connect(home.database)) as connection, connection:
        yield connection
