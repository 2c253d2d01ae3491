"""The database of a home: opened, brought to its newest form, and how transactions run on it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DataError, DBAPIError, IntegrityError, StatementError
from sqlalchemy.orm import Session

from review.domain.errors import EntryRefused, StoreBroken
from review.store.engines import Kind, PostgresServer, SqliteFile
from review.store.files import locked
from review.store.forms import bring_to, newest_form
from review.store.home import Home
from review.store.settings import settings_of


class Database:
    """An open database; may be used from several threads and, opened in each, from several processes."""

    def __init__(self, kind: Kind) -> None:
        self._kind = kind

    @contextmanager
    def transaction(self, writing: bool = True) -> Iterator[Session]:
        """Run one transaction: committed on leaving, rolled back after an error.

        A writing one waits for those that write already, so that what it read stays true until it writes. One that
        only reads blocks nobody, and a write in it is refused.

        Raises
        ------
        EntryRefused
            If what was written refers to something that is not stored, is stored already, or is no proper text.
        StoreBroken
            If the database cannot be used: locked too long, disk full, damaged, out of reach.
        """
        engine = self._kind.engine.execution_options(writing=writing)
        try:
            with Session(engine, autoflush=False) as session, session.begin():
                yield session
        except IntegrityError as error:
            raise EntryRefused(
                f"This could not be stored ({_cause(error)}): it is stored already, or refers to a person, recording "
                "or checklist that is not. Nothing was changed; reload and try again."
            ) from error
        except DataError as error:
            raise EntryRefused(
                f"This could not be stored ({_cause(error)}): it holds what the database cannot, such as a number "
                "too large. Nothing was changed."
            ) from error
        except DBAPIError as error:
            raise _unusable(self._kind, error) from error
        except StatementError as error:
            raise error.orig or error from None

    @property
    def keeps(self) -> tuple[str, ...]:
        """What may still hold rows that were erased, out of this program's reach."""
        return self._kind.keeps

    def scrub(self) -> None:
        """Write anew what holds the rows, so that what was erased is not in it."""
        self._kind.scrub()


def open_database(home: Home, form: str | None = None) -> Database:
    """Open the home's database, made or brought to a form, its newest if none is named.

    It is a SQLite file in the home, or what the home's settings name. Several processes may open it at once: one of
    them does the work, the others wait.

    Raises
    ------
    StoreBroken
        If it is no database of ours, was made by a newer version of Runthrough, or is out of reach.
    """
    address = settings_of(home).database
    kind: Kind = SqliteFile(home.database) if address is None else PostgresServer(address.get_secret_value())
    if kind.form() != newest_form():
        try:
            with locked(home.root / ".database.lock"):
                bring_to(kind.engine, kind.name, form)
        except (DBAPIError, OSError) as error:
            raise _unusable(kind, error) from error
    return Database(kind)


def _cause(error: Exception) -> str:
    return str(getattr(error, "orig", None) or error).partition("\n")[0]


def _unusable(kind: Kind, error: Exception) -> StoreBroken:
    cause = _cause(error)
    return StoreBroken(
        f"The database {kind.name} cannot be used ({cause}). The last change was not stored. {kind.advice(cause)}"
    )
