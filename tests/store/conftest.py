from __future__ import annotations

from pathlib import Path

import pytest

from review.store.database import Database, open_database
from review.store.home import Home, find_home
from review.store.repository import repository
from tests.store.made import fill


@pytest.fixture
def home(tmp_path: Path) -> Home:
    """Make an empty home."""
    return find_home(tmp_path / "home")


@pytest.fixture
def database(home: Home) -> Database:
    """Open a database with people, a sheet and a recording."""
    database = open_database(home)
    with repository(database) as repo:
        fill(repo)
    return database
