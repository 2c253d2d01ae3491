"""The SQLite file: opened, brought to its newest form, and how transactions run on it."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from functools import cache, lru_cache
from pathlib import Path
from typing import Any, Final

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine, NullPool, create_engine, event
from sqlalchemy.exc import DatabaseError, IntegrityError, StatementError
from sqlalchemy.orm import Session

from review.domain.errors import EntryRefused, StoreBroken
from review.store.files import locked
from review.store.home import Home

_PATIENCE_S: Final = 20.0
_FULL_BYTES: Final = 1_000_000
_MIGRATIONS: Final = Path(__file__).with_name("migrations")


class Database:
    """An open database; may be used from several threads and, opened in each, from several processes."""

    def __init__(self, engine: Engine, path: Path) -> None:
        self._engine = engine
        self.path = path

    @contextmanager
    def transaction(self, writing: bool = True) -> Iterator[Session]:
        """Run one transaction: committed on leaving, rolled back after an error.

        A writing one takes the file's write lock at once and waits for it, so that what it read stays true until it
        writes. One that only reads blocks nobody, and a write in it is refused.

        Raises
        ------
        EntryRefused
            If what was written refers to something that is not stored, is stored already, or is no proper text.
        StoreBroken
            If the database cannot be used: locked too long, disk full, damaged.
        """
        engine = self._engine.execution_options(writing=writing)
        try:
            with Session(engine, autoflush=False) as session, session.begin():
                yield session
        except IntegrityError as error:
            raise EntryRefused(
                f"This could not be stored ({error.orig}): it is stored already, or refers to a person, recording or "
                "checklist that is not. Nothing was changed; reload and try again."
            ) from error
        except DatabaseError as error:
            raise _unusable(self.path, error) from error
        except UnicodeEncodeError as error:
            raise EntryRefused(
                f"A text holds half a character ({error.object[:40]!r}); expected whole ones. Nothing was changed."
            ) from error
        except StatementError as error:
            raise error.orig or error from None

    def scrub(self) -> None:
        """Write the file anew and empty the write-ahead log into it, so that what was erased is in neither of them.

        What SQLite deletes it overwrites; copies of rows that it moved within a page it does not, so the file is
        written anew. Where another process is writing for long, that is left out.
        """
        connection = self._engine.raw_connection()
        try:
            cursor = connection.cursor()
            cursor.execute("PRAGMA temp_store = MEMORY")
            with suppress(sqlite3.OperationalError):
                cursor.execute("VACUUM")
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        finally:
            connection.close()


def open_database(home: Home) -> Database:
    """Open the home's database, made or brought to its newest form if need be.

    Several processes may do so at once: one of them does the work, the others wait.

    Raises
    ------
    StoreBroken
        If the file is no database of ours, or was made by a newer version of Runthrough.
    """
    engine = _engine(home.database)
    if home.database.exists() and _form(home.database) == _forms()[0]:
        return Database(engine, home.database)
    try:
        with locked(home.root / ".database.lock"):
            _migrate(engine, home.database)
    except (DatabaseError, OSError) as error:
        raise _unusable(home.database, error) from error
    return Database(engine, home.database)


def _form(path: Path) -> str | None:
    """Return the form of a file, None where that cannot be told this way: quickly, since pages open it often."""
    with suppress(sqlite3.Error), closing(sqlite3.connect(path, timeout=_PATIENCE_S)) as connection:
        found = connection.execute("SELECT version_num FROM alembic_version").fetchone()
        return None if found is None else str(found[0])
    return None


@lru_cache(maxsize=8)
def _engine(path: Path) -> Engine:
    """Make the engine of a file. It is kept, since it remembers each statement that it has put into SQL."""
    engine = create_engine(f"sqlite:///{path}", poolclass=NullPool, connect_args={"timeout": _PATIENCE_S})
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    return engine


def _prepare(connection: Any, record: object) -> None:
    connection.isolation_level = None
    for pragma in ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON", "secure_delete = ON"):
        connection.execute(f"PRAGMA {pragma}").close()


def _begin(connection: Connection) -> None:
    writing = connection.get_execution_options().get("writing", True)
    connection.exec_driver_sql(f"PRAGMA query_only = {'OFF' if writing else 'ON'}")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")


def _migrate(engine: Engine, path: Path) -> None:
    newest, known = _forms()
    with engine.execution_options(writing=False).begin() as connection:
        found = MigrationContext.configure(connection).get_current_revision()
    if found == newest:
        return
    if found is not None and found not in known:
        raise StoreBroken(
            f"The database {path} was made by a newer version of Runthrough (its form is {found!r}); expected one "
            f"up to {newest!r}. Nothing was changed; update Runthrough, or name another home."
        )
    config = _config()
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "head")


@cache
def _forms() -> tuple[str | None, frozenset[str]]:
    """Return the newest form of the database, and all that this version knows."""
    script = ScriptDirectory.from_config(_config())
    return script.get_current_head(), frozenset(revision.revision for revision in script.walk_revisions())


def _config() -> Config:
    config = Config()
    config.set_main_option("script_location", str(_MIGRATIONS).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    return config


def _unusable(path: Path, error: Exception) -> StoreBroken:
    cause = getattr(error, "orig", None) or error
    if "locked" in str(cause):
        advice = "Another process is writing for long; wait and try again."
    elif "full" in str(cause) or shutil.disk_usage(path.parent).free < _FULL_BYTES:
        advice = "Make room on the disk and try again."
    else:
        advice = "Put a copy of the file back in its place, or name another home."
    return StoreBroken(f"The database {path} cannot be used ({cause}). The last change was not stored. {advice}")
