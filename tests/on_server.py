"""A plugin that puts the database of every home on a PostgreSQL server: ``pytest -p tests.on_server tests/actions``."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from pydantic import SecretStr

from review.store import database
from review.store.home import Home
from review.store.settings import Settings
from tests.postgres import Server, running


@pytest.fixture(scope="session", autouse=True)
def on_server() -> Iterator[None]:
    """Hand each home a database of its own; a home that is copied gets a copy of it."""
    with running() as server, pytest.MonkeyPatch.context() as patch:
        homes = _Homes(server)
        patch.setattr(database, "settings_of", homes.settings)
        patch.setattr(shutil, "copy", homes.copying(shutil.copy))
        patch.setattr(shutil, "copytree", homes.copying(shutil.copytree))
        yield


class _Homes:
    def __init__(self, server: Server) -> None:
        self._server = server
        self._names: dict[Path, str] = {}

    def settings(self, home: Home) -> Settings:
        if home.root not in self._names:
            self._names[home.root] = self._server.fresh()
        return Settings(database=SecretStr(self._server.address(self._names[home.root])))

    def copying(self, copy: Callable[..., Any]) -> Callable[..., Any]:
        def copied(source: Path, target: Path, *more: Any, **named: Any) -> Any:
            source, target = Path(source), Path(target)
            if source.name == "runthrough.db":
                self._names[target.parent] = self._server.fresh(self._names[source.parent])
                return target
            if source in self._names:
                self._names[target] = self._server.fresh(self._names[source])
            return copy(source, target, *more, **named)

        return copied
