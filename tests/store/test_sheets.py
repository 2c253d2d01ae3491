"""Sheets and their versions in the database, old ones too."""

from __future__ import annotations

import sqlite3

from alembic import command
from sqlalchemy import create_engine

from review.store.database import open_database
from review.store.forms import migration_config
from review.store.home import Home
from review.store.repository import reading
from tests.store import made


def test_sheets_of_the_fifth_form_are_kept_and_none_of_them_is_retired(home: Home) -> None:
    """Who stored them is not known; they are offered as before, and read as the same checklist."""
    engine = create_engine(f"sqlite:///{home.database}")
    config = migration_config()
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "0005")
    engine.dispose()
    old = sqlite3.connect(home.database)
    for version in (1, 2):
        text = made.SHEET.replace("version = 1", f"version = {version}")
        old.execute("INSERT INTO checklists VALUES (?, ?, ?, ?)", ("short_sheet", version, "Short sheet", text))
    old.commit()
    old.close()
    with reading(open_database(home)) as repo:
        stored = repo.sheets().versions("short_sheet")
        assert [(one.version, one.saved_by, one.saved_at) for one in stored] == [(2, None, None), (1, None, None)]
        assert [sheet.version for sheet in repo.sheets().offered()] == [2]
        assert repo.sheets().retired() == {}
