"""A Dask cluster of real processes on this machine, started by the commands that docs/server.md names."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from distributed import Client


@dataclass
class Machines:
    """A scheduler and its workers, each a process."""

    folder: Path
    address: str
    scheduler: subprocess.Popen[bytes] | None = None
    workers: dict[str, subprocess.Popen[bytes]] = field(default_factory=dict)

    def start_scheduler(self) -> None:
        """Start the scheduler at its address."""
        port = self.address.rpartition(":")[2]
        self.scheduler = self._start("scheduler", "--host", "127.0.0.1", "--port", port, "--no-dashboard")

    def start_worker(self, name: str, environment: dict[str, str] | None = None) -> None:
        """Start a worker of one thread."""
        options = ("--no-nanny", "--nthreads", "1", "--name", name, "--no-dashboard", "--death-timeout", "60")
        self.workers[name] = self._start("worker", self.address, *options, environment=environment)

    def kill(self, process: subprocess.Popen[bytes] | None) -> None:
        """End a process at once, as when its machine goes."""
        if process is not None:
            process.send_signal(signal.SIGKILL)
            process.wait()

    def ready(self, workers: int) -> None:
        """Wait until so many workers are there."""
        with Client(self.address, timeout=60, set_as_default=False) as client:
            client.wait_for_workers(workers, timeout=60)

    def _start(self, what: str, *arguments: str, environment: dict[str, str] | None = None) -> subprocess.Popen[bytes]:
        with (self.folder / f"{what}.log").open("ab") as log:
            return subprocess.Popen(
                [sys.executable, "-m", "dask", what, *arguments],
                stdout=log,
                stderr=log,
                cwd=self.folder,
                env={**os.environ, **(environment or {})},
            )


@contextmanager
def running(folder: Path, *workers: str) -> Iterator[Machines]:
    """Start a scheduler and workers, and end them all."""
    folder.mkdir(parents=True, exist_ok=True)
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        machines = Machines(folder, f"tcp://127.0.0.1:{found.getsockname()[1]}")
    try:
        machines.start_scheduler()
        for name in workers:
            machines.start_worker(name)
        if workers:
            machines.ready(len(workers))
        yield machines
    finally:
        for process in (*machines.workers.values(), machines.scheduler):
            machines.kill(process)
