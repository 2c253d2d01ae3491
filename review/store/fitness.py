"""Whether a database is fit for a school's server: what is stored stays, texts are whole, its clock is right."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final

from sqlalchemy import text
from sqlalchemy.orm import Session

from review.store.database import Database

CLOCKS_APART_S: Final = 2.0
"""How far the clocks of the database and of this machine may be apart: units of work are taken until a moment. Author's
choice, a tenth of the shortest that is taken."""

_DURABLE: Final = ("fsync", "full_page_writes", "synchronous_commit")


@dataclass(frozen=True, slots=True)
class Fitness:
    """What a database is, in words, and all that is wrong with it, each with what to do."""

    said: str
    wrong: tuple[str, ...]


def fitness(database: Database, clock: Callable[[], datetime] = lambda: datetime.now(UTC)) -> Fitness:
    """Ask a database what it is.

    Parameters
    ----------
    database
        Which.
    clock
        Tells the time of this machine.

    Raises
    ------
    StoreBroken
        If it does not answer.
    """
    with database.transaction(writing=False) as session:
        if session.get_bind().dialect.name == "sqlite":
            version = session.scalar(text("SELECT sqlite_version()"))
            return Fitness(f"a SQLite file (SQLite {version}): enough for the processes of one machine", ())
        return _of_server(session, clock)


def _of_server(session: Session, clock: Callable[[], datetime]) -> Fitness:
    wrong = [
        f"{name} is off, so what was stored may be lost with a power cut: set it on"
        for name in _DURABLE
        if session.scalar(text(f"SHOW {name}")) == "off"
    ]
    encoding = session.scalar(text("SHOW server_encoding"))
    if encoding != "UTF8":
        wrong.append(f"its encoding is {encoding}, expected UTF8: make the database anew and restore a backup into it")
    sorting = session.scalar(text("SELECT datcollate FROM pg_database WHERE datname = current_database()"))
    if sorting not in ("C", "POSIX"):
        wrong.append(f"it sorts as {sorting}, expected C: make the database anew with --locale=C and restore a backup")
    before = clock()
    there = session.scalar(text("SELECT clock_timestamp()"))
    took = clock() - before
    apart = abs((there - before - took / 2).total_seconds()) if there is not None else 0.0
    if apart > CLOCKS_APART_S + took.total_seconds() / 2:
        wrong.append(f"its clock is {apart:.1f} s from this machine's: have both follow a time server")
    version = session.scalar(text("SHOW server_version"))
    return Fitness(f"PostgreSQL {version}, answers within {1000 * took.total_seconds():.0f} ms", tuple(wrong))
