"""Servers of the dashboard, each a copy of one process that has loaded it: loading takes longer than most tests."""

from __future__ import annotations

import atexit
import importlib
import json
import os
import pkgutil
import signal
import subprocess
import sys
import tempfile
import time
from contextlib import suppress
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Final

import psutil

from review.store.home import find_home

PATIENCE_S: Final = 20.0


@dataclass(frozen=True, slots=True)
class Served:
    """A server in a process of its own."""

    process: int
    log: Path

    def said(self) -> str:
        """Return what it printed so far."""
        return self.log.read_text("utf-8", errors="replace")

    def alive(self) -> bool:
        """Tell whether it still runs."""
        with suppress(psutil.NoSuchProcess):
            return psutil.Process(self.process).status() != psutil.STATUS_ZOMBIE
        return False

    def end(self) -> None:
        """Have it end as a service is ended, and wait for that."""
        with suppress(ProcessLookupError):
            os.kill(self.process, signal.SIGTERM)
        until = time.monotonic() + PATIENCE_S
        while self.alive():
            assert time.monotonic() < until, f"the dashboard did not end: {self.said()}"
            time.sleep(0.02)
        self.log.unlink()


def begin(home: Path, port: int) -> Served:
    """Begin to serve the dashboard of a home."""
    handle, log = tempfile.mkstemp(prefix="dashboard", suffix=".log")
    os.close(handle)
    order = {"home": str(home), "port": port, "log": log, "folder": str(Path.cwd()), "environment": dict(os.environ)}
    loaded = _loaded()
    assert loaded.stdin is not None
    assert loaded.stdout is not None
    loaded.stdin.write(json.dumps(order) + "\n")
    loaded.stdin.flush()
    return Served(int(loaded.stdout.readline()), Path(log))


@cache
def _loaded() -> subprocess.Popen[str]:
    """Start the process that is copied, once; it ends with this one."""
    order = [sys.executable, "-c", "from tests.dashboards import copy_on_demand; copy_on_demand()"]
    process = subprocess.Popen(
        order, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=Path(__file__).parent.parent
    )
    atexit.register(process.communicate)
    return process


def copy_on_demand() -> None:
    """Load the dashboard; then, for every line that comes, go on in a copy that serves the home it names."""
    import ui

    for found in pkgutil.walk_packages(ui.__path__, "ui."):
        importlib.import_module(found.name)
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # copies that have ended are not waited for
    copies = []
    while line := sys.stdin.readline():
        copy = os.fork()
        if copy == 0:
            _serve(json.loads(line))
            return
        copies.append(copy)
        print(copy, flush=True)
    for copy in copies:
        with suppress(ProcessLookupError):
            os.kill(copy, signal.SIGTERM)


def _serve(order: dict[str, Any]) -> None:
    from ui.app import serve

    signal.signal(signal.SIGCHLD, signal.SIG_DFL)
    with open(os.devnull, "rb") as nothing, open(order["log"], "wb") as log:
        for place, file in enumerate((nothing, log, log)):
            os.dup2(file.fileno(), place)
    os.environ.clear()
    os.environ.update(order["environment"], RUNTHROUGH_HOME=order["home"])
    os.chdir(order["folder"])
    serve(find_home(), order["port"], False)
