"""The machines of a school's server, on this one: a database, a bucket, a scheduler and workers, killed and mended."""

from __future__ import annotations

import logging
import os
import shutil
import subprocess
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, Final

import psutil
import psycopg

from review.store.home import Home
from review.store.settings import SETTINGS_FILE, settings_of
from tests import cluster, s3
from tests.postgres import programs

WORKERS: Final = ("one", "two")
_ABSENT_S: Final = 3.0
"""How long what was killed stays away, as a machine that starts again does."""


class Postgres:
    """A PostgreSQL server that keeps what is stored through a loss of power, and can be killed.

    Parameters
    ----------
    folder
        Where it keeps all it has.
    """

    def __init__(self, folder: Path) -> None:
        place = programs()
        if place is None:
            raise SystemExit("PostgreSQL is not here. Install it with: apt-get install postgresql")
        self._programs, self.folder = place, folder
        self._who: dict[str, Any] = {"cwd": folder}
        if os.geteuid() == 0:  # the server refuses to run as root
            self._who |= {"user": "postgres", "group": "postgres"}
            shutil.chown(folder, "postgres", "postgres")
            folder.chmod(0o755)
        self._run("initdb", "--auth=trust", "--username=runthrough", "--encoding=UTF8", "--locale=C")
        self.start()
        with psycopg.connect(self.address("postgres"), autocommit=True) as connection:
            connection.execute("CREATE DATABASE school TEMPLATE template0 ENCODING 'UTF8' LOCALE 'C'")

    def address(self, name: str = "school") -> str:
        """Return the address of a database."""
        return f"postgresql://runthrough@/{name}?host={self.folder}"

    def start(self) -> None:
        """Start it, also while what is left of a killed one still ends."""
        options = f"-c listen_addresses='' -c max_connections=200 -k {self.folder}"
        for _ in range(30):
            with suppress(subprocess.CalledProcessError):
                self._run("pg_ctl", "-w", "-l", str(self.folder / "log"), "-o", options, "start")
                return
            time.sleep(1.0)
        raise AssertionError("the database does not start again")

    def process(self) -> psutil.Process | None:
        """Return its first process; None if it does not run."""
        with suppress(OSError, ValueError, psutil.NoSuchProcess):
            found = psutil.Process(int((self.folder / "data" / "postmaster.pid").read_text().split()[0]))
            return found if found.name().startswith("postgres") and found.status() != "zombie" else None
        return None

    def stop(self) -> None:
        """End it."""
        with suppress(subprocess.CalledProcessError):
            self._run("pg_ctl", "-m", "immediate", "stop")

    def _run(self, program: str, *arguments: str) -> None:
        order = [self._programs / program, "-D", self.folder / "data", *arguments]
        subprocess.run(order, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, **self._who)


class School:
    """All that a school's server consists of besides the pages."""

    def __init__(self, database: Postgres, machines: cluster.Machines, bucket: s3.S3) -> None:
        self.database, self.machines, self._bucket = database, machines, bucket
        self._missed: dict[str, float] = {}

    def settle(self, home: Home) -> None:
        """Have a home use all of it."""
        self._bucket.settle(home, self._bucket.bucket())
        with (home.root / SETTINGS_FILE).open("a", encoding="utf-8") as settings:
            settings.write(f'database = "{self.database.address()}"\ncluster = "{self.machines.address}"\n')
        (home.root / SETTINGS_FILE).chmod(0o600)
        settings_of.cache_clear()

    def victims(self) -> dict[str, list[psutil.Process]]:
        """Return what may be killed, by what it is."""
        found = {"scheduler": [self.machines.scheduler], "cluster worker": list(self.machines.workers.values())}
        living = {
            name: [psutil.Process(one.pid) for one in those if one is not None and one.poll() is None]
            for name, those in found.items()
        }
        database = self.database.process()
        return living | ({"database": [database]} if database is not None else {})

    def mend(self) -> None:
        """Start again what has been away for a while, as the system does with a service."""
        scheduler = self.machines.scheduler
        self._back("database", self.database.process() is None, self.database.start)
        self._back("scheduler", scheduler is None or scheduler.poll() is not None, self.machines.start_scheduler)
        for name in WORKERS:
            gone = self.machines.workers[name].poll() is not None
            self._back(name, gone, lambda name=name: self.machines.start_worker(name))

    def _back(self, name: str, gone: bool, start: Callable[[], None]) -> None:
        if not gone:
            self._missed.pop(name, None)
        elif time.monotonic() - self._missed.setdefault(name, time.monotonic()) > _ABSENT_S:
            start()
            del self._missed[name]


@contextmanager
def school(folder: Path) -> Iterator[School]:
    """Start it all, and end it."""
    logging.getLogger("werkzeug").setLevel(logging.WARNING)
    (folder / "database").mkdir()
    folder.chmod(0o755)
    database = Postgres(folder / "database")
    try:
        with s3.running() as bucket, cluster.running(folder / "cluster", *WORKERS) as machines:
            yield School(database, machines, bucket)
    finally:
        database.stop()
