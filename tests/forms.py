"""An empty database, made by all migrations once and copied from then on: most tests begin with one."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
from sqlalchemy import Engine, create_engine

from review.store import database
from review.store.forms import bring_to
from review.store.home import Home


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


@contextmanager
def of_form(home: Home, form: str) -> Iterator[sqlite3.Connection]:
    """Make the database of a home in an earlier form; what the connection puts in is kept on leaving."""
    engine = create_engine(f"sqlite:///{home.database}")
    bring_to(engine, str(home.database), form)
    engine.dispose()
    with closing(sqlite3.connect(home.database)) as connection, connection:
        yield connection
