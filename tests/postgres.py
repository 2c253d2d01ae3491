"""A PostgreSQL server for tests: started once a process, in a folder of its own, reached by a socket there."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any, Final

import psycopg

OPTIONS: Final = (
    "-c listen_addresses='' -c fsync=off -c synchronous_commit=off -c full_page_writes=off -c max_connections=600"
)


@cache
def programs() -> Path | None:
    """Return the folder of the server's programs; None where none is installed."""
    found = shutil.which("pg_ctl")
    return Path(found).parent if found else max(Path("/usr/lib/postgresql").glob("*/bin"), default=None)


class Server:
    """A running server."""

    def __init__(self, folder: Path) -> None:
        self._folder, self._made = folder, 0

    def address(self, name: str) -> str:
        """Return the address of one of its databases."""
        return f"postgresql://runthrough@/{name}?host={self._folder}"

    def fresh(self, template: str = "template0") -> str:
        """Make a database and return its name; who is connected to the template is sent away."""
        self._made += 1
        name = f"home_{self._made}"
        with psycopg.connect(self.address("postgres"), autocommit=True) as connection:
            connection.execute("SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = %s", (template,))
            connection.execute(f"CREATE DATABASE {name} TEMPLATE {template} ENCODING 'UTF8' LOCALE 'C'")
        return name


@contextmanager
def running() -> Iterator[Server]:
    """Start a server, stop it at the end."""
    place = programs()
    assert place is not None
    with tempfile.TemporaryDirectory(prefix="pg", ignore_cleanup_errors=True) as made:
        folder = Path(made)
        who: dict[str, Any] = {}
        if os.geteuid() == 0:  # the server refuses to run as root
            who = {"user": "postgres", "group": "postgres", "cwd": folder}
            shutil.chown(folder, "postgres", "postgres")
            folder.chmod(0o755)

        def run(program: str, *arguments: str) -> None:
            subprocess.run([place / program, "-D", folder / "data", *arguments], check=True, capture_output=True, **who)

        run("initdb", "--auth=trust", "--username=runthrough", "--no-sync", "--encoding=UTF8", "--locale=C")
        run("pg_ctl", "-w", "-l", str(folder / "log"), "-o", f"{OPTIONS} -k {folder}", "start")
        try:
            yield Server(folder)
        finally:
            run("pg_ctl", "-m", "immediate", "stop")
