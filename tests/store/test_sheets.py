"""Sheets and their versions in the database, old ones too."""

from __future__ import annotations

from review.store.database import open_database
from review.store.home import Home
from review.store.repository import reading
from tests.forms import of_form
from tests.store import made


def test_sheets_of_the_fifth_form_are_kept_and_none_of_them_is_retired(home: Home) -> None:
    """Who stored them is not known; they are offered as before, and read as the same checklist."""
    with of_form(home, "0005") as connection:
        for version in (1, 2):
            row = ("short_sheet", version, "Short sheet", made.SHEET.replace("version = 1", f"version = {version}"))
            connection.execute("INSERT INTO checklists VALUES (?, ?, ?, ?)", row)
    with reading(open_database(home)) as repo:
        stored = repo.sheets().versions("short_sheet")
        assert [(one.version, one.saved_by, one.saved_at) for one in stored] == [(2, None, None), (1, None, None)]
        assert [sheet.version for sheet in repo.sheets().offered()] == [2]
        assert repo.sheets().retired() == {}
