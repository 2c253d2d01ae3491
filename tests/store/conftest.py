from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from review.store.database import Database, open_database
from review.store.home import Home, find_home
from review.store.repository import repository
from review.store.settings import SETTINGS_FILE
from tests.postgres import Server, programs, running
from tests.store.made import fill


@pytest.fixture(scope="session")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make once the file of a database with people, a sheet and a recording."""
    home = find_home(tmp_path_factory.mktemp("filled"))
    with repository(home) as repo:
        fill(repo)
    return home.database


@pytest.fixture(scope="session")
def server() -> Iterator[Server]:
    """Start a PostgreSQL server."""
    if programs() is None:
        pytest.skip("needs the programs of a PostgreSQL server (Debian: postgresql)")
    with running() as found:
        yield found


@pytest.fixture(scope="session")
def filled_on_server(server: Server, tmp_path_factory: pytest.TempPathFactory) -> str:
    """Make once the same database on a server; return its name."""
    name = server.fresh()
    with repository(_settled(tmp_path_factory.mktemp("served"), server.address(name))) as repo:
        fill(repo)
    return name


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Ask a test of a database of both kinds."""
    if "database" in metafunc.fixturenames:
        metafunc.parametrize("keeper", ["file", "server"], indirect=True)


@pytest.fixture
def keeper(request: pytest.FixtureRequest) -> str:
    """Tell what keeps the rows: a file, or a server where a test asks for it as well."""
    return str(getattr(request, "param", "file"))


@pytest.fixture
def home(tmp_path: Path) -> Home:
    """Make an empty home, with a file."""
    return find_home(tmp_path / "home")


@pytest.fixture
def database(home: Home, keeper: str, request: pytest.FixtureRequest) -> Database:
    """Open the database of the home with people, a sheet and a recording."""
    if keeper == "file":
        return request.getfixturevalue("filed")
    server: Server = request.getfixturevalue("server")
    name: str = request.getfixturevalue("filled_on_server")
    return open_database(_settled(home.root, server.address(server.fresh(name))))


@pytest.fixture
def filed(home: Home, filled: Path) -> Database:
    """Open a file with people, a sheet and a recording."""
    shutil.copy(filled, home.database)
    return open_database(home)


def _settled(root: Path, address: str) -> Home:
    home = find_home(root)
    (root / SETTINGS_FILE).write_text(f'database = "{address}"\n', "utf-8")
    return home
