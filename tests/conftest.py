from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import nullcontext
from pathlib import Path
from typing import Final

import pytest

from tests.forms import copied_when_new
from tests.outside import Watch
from tests.s3 import S3
from tests.s3 import running as speaking_s3
from tests.screens import chromium, dashboard, furnished, site, tiny_film

__all__ = ["chromium", "dashboard", "databases", "first_database", "furnished", "schedule_kept", "site", "tiny_film"]

LONG_FIRST: Final = (
    "tests/e2e/test_accessible",
    "tests/ui/test_demo",
    "tests/pipeline/test_analyse",
    "tests/capture/test_fuzz",
    "tests/pipeline/",
    "tests/e2e/",
    "tests/ui/",
    "tests/access/",
    "tests/actions/",
    "tests/capture/",
)
"""Beginnings of the names of tests, those that take longest first: none is begun late, while others are idle."""


def pytest_configure(config: pytest.Config) -> None:
    """Have files handed out in the order of `pytest_collection_modifyitems`; watch who opens homes."""
    config.option.loadscopereorder = False
    config.pluginmanager.register(Watch())


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put long files first."""
    items.sort(key=lambda item: next((at for at, name in enumerate(LONG_FIRST) if item.nodeid.startswith(name)), 99))


@pytest.fixture(scope="session")
def first_database(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make a place for the empty database that others are copied from."""
    return tmp_path_factory.mktemp("first")


@pytest.fixture(scope="module", autouse=True)
def databases(request: pytest.FixtureRequest, first_database: Path) -> Iterator[None]:
    """Copy empty databases rather than making each anew, but where the store itself is tested."""
    with nullcontext() if "tests/store/" in request.node.nodeid else copied_when_new(first_database):
        yield


@pytest.fixture(autouse=True)
def schedule_kept() -> Iterator[None]:
    """Hold that no test changes how the system schedules this process: what it starts would inherit that."""
    if not hasattr(os, "sched_getscheduler"):
        yield
        return
    before = os.sched_getscheduler(0)
    yield
    assert os.sched_getscheduler(0) == before


@pytest.fixture(scope="session")
def s3() -> Iterator[S3]:
    """Start a server that speaks S3."""
    with speaking_s3() as found:
        yield found
