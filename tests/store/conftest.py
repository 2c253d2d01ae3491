from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from review.store.database import Database, open_database
from review.store.home import Home, find_home
from review.store.repository import repository
from tests.store.made import fill


@pytest.fixture(scope="session")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make once the file of a database with people, a sheet and a recording."""
    home = find_home(tmp_path_factory.mktemp("filled"))
    with repository(home) as repo:
        fill(repo)
    return home.database


@pytest.fixture
def home(tmp_path: Path) -> Home:
    """Make an empty home."""
    return find_home(tmp_path / "home")


@pytest.fixture
def database(home: Home, filled: Path) -> Database:
    """Open a database with people, a sheet and a recording."""
    shutil.copy(filled, home.database)
    return open_database(home)
