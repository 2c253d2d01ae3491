"""A plugin that puts every home on a school's server: ``python -m pytest -p tests.on_server -n 3 --dist loadfile``.

Each home that a test opens has a PostgreSQL database of its own, a place of its own in a bucket (moto) and a Dask
cluster for its analyses: that is written into its `server.toml` when its settings are first read, so that commands and
pages in other processes have it too.
"""

from __future__ import annotations

import logging
import shutil
import subprocess
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Final

import psycopg
import pytest

from review.store import forms, settings
from review.store.engines import PostgresServer
from review.store.home import HOME_VARIABLE
from review.store.settings import SETTINGS_FILE
from tests import forms as made_forms
from tests.outside import PASS
from tests.postgres import Server, programs, running
from tests.s3 import S3

_BUCKET: Final = "school"


def pytest_configure(config: pytest.Config) -> None:
    """Refuse where a service is missing; without a choice, take the tests that open homes."""
    missing = [name for name in ("moto", "s3fs", "distributed") if find_spec(name) is None]
    missing += [] if programs() else ["PostgreSQL"]
    if missing:
        raise pytest.UsageError(
            f"the tests cannot run on a school's server: {', '.join(missing)} not found here; "
            "install '.[test]' and the system's package postgresql"
        )
    if config.args_source is pytest.Config.ArgsSource.TESTPATHS:
        config.args = list(PASS)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark all as tests of a server; leave out, with the reason, what is about a laptop alone."""
    for item in items:
        item.add_marker("server")
        for mark in item.iter_markers("laptop"):
            item.add_marker(pytest.mark.skip(reason=f"on a laptop alone: {mark.args[0]}"))


@dataclass
class Homes:
    """The homes of the tests on their server.

    Attributes
    ----------
    server, s3, cluster
        Where their rows, films and analyses are.
    names
        Names of their databases, by folder.
    empty
        Name of a database without rows, which others are copied from.
    """

    server: Server
    s3: S3
    cluster: str
    names: dict[Path, str] = field(default_factory=dict)
    empty: str = ""

    def prepare(self) -> None:
        """Make the bucket, and the empty database by all migrations."""
        self.s3.client.create_bucket(Bucket=_BUCKET)
        self.empty = self.server.fresh()
        first = PostgresServer(self.server.address(self.empty))
        forms.bring_to(first.engine, first.name)
        first.engine.dispose()

    def settle(self, root: Path, like: str = "") -> None:
        """Write into a home's settings what they do not say themselves; its database begins as a copy of another."""
        place = root / SETTINGS_FILE
        said = place.read_text("utf-8") if place.exists() else ""
        if root not in self.names and "database" not in said:
            self.names[root] = self.server.fresh(like or self.empty)
        wanted = {"cluster": self.cluster}
        if root in self.names:
            wanted["database"] = self.server.address(self.names[root])
        if "media" not in said:
            wanted |= {"media": f"s3://{_BUCKET}/{self.names.get(root, root.name)}", "s3_endpoint": self.s3.endpoint}
        lines = [f'{name} = "{value}"\n' for name, value in wanted.items() if name not in said]
        if lines:
            root.mkdir(parents=True, exist_ok=True)
            place.touch(mode=0o600)
            place.write_text("".join((said, *lines)), "utf-8")

    def copied(self, old: Path, new: Path) -> None:
        """Give a home a copy of another one's database."""
        (new / SETTINGS_FILE).unlink(missing_ok=True)
        self.forget(new)
        self.settle(new, self.names[old])

    def forget(self, root: Path) -> None:
        """Drop the database of a home."""
        if name := self.names.pop(root, ""):
            address = self.server.address(name)
            PostgresServer(address).engine.dispose()
            with psycopg.connect(self.server.address("postgres"), autocommit=True) as connection:
                connection.execute(f"DROP DATABASE {name} WITH (FORCE)")

    def forget_below(self, folder: Path) -> None:
        """Drop the databases of the homes in a folder."""
        for root in [root for root in self.names if root.is_relative_to(folder)]:
            self.forget(root)


@pytest.fixture(scope="session", autouse=True)
def on_server(s3: S3, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Homes]:
    """Start the server, and put there whatever home is opened; none may be left on a SQLite file."""
    from tests import cluster

    folder = tmp_path_factory.mktemp("machines")
    logging.getLogger("werkzeug").setLevel(logging.WARNING)  # moto's server tells each request
    with running() as server, cluster.running(folder, "one") as machines, pytest.MonkeyPatch.context() as patch:
        homes = Homes(server, s3, machines.address)
        homes.prepare()
        patch.setattr(settings, "_written", _settled_first(homes, settings._written))
        patch.setattr(shutil, "copytree", _copying(homes, shutil.copytree))
        patch.setattr(subprocess.Popen, "__init__", _telling(homes, subprocess.Popen.__init__))
        patch.setattr(made_forms, "copy_rows", homes.copied)
        yield homes
    assert list(tmp_path_factory.getbasetemp().rglob("runthrough.db")) == [], "homes that were on no server"


@pytest.fixture(autouse=True)
def dropped(on_server: Homes, tmp_path: Path) -> Iterator[None]:
    """Drop the databases of a test after it."""
    yield
    on_server.forget_below(tmp_path)


def _settled_first(homes: Homes, read: Callable[[Path], dict[str, Any]]) -> Callable[[Path], dict[str, Any]]:
    def settled(place: Path) -> dict[str, Any]:
        read(place)
        homes.settle(place.parent)
        return read(place)

    return settled


def _copying(homes: Homes, copy: Callable[..., Any]) -> Callable[..., Any]:
    def copied(source: Path, target: Path, *more: Any, **named: Any) -> Any:
        done = copy(source, target, *more, **named)
        if Path(source) in homes.names:
            homes.copied(Path(source), Path(target))
        return done

    return copied


def _telling(homes: Homes, begin: Callable[..., None]) -> Callable[..., None]:
    """Settle the home that a command is about, before it starts."""

    def told(process: Any, order: Any, *more: Any, **named: Any) -> None:
        words = [str(word) for word in order] if isinstance(order, list | tuple) else []
        if "--home" in words:
            homes.settle(Path(words[words.index("--home") + 1]))
        elif root := (named.get("env") or {}).get(HOME_VARIABLE):
            homes.settle(Path(root))
        begin(process, order, *more, **named)

    return told
