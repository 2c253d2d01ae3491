"""How much memory the app, its working process and its workers take while a long film is taken in and analysed.

Run: ``python -m tests.benchmarks.memory FILM [--every N] [--json]``

The dashboard is started on a fresh home as `runthrough open` starts it, the film is added in the dashboard's own
process through the upload route, every step (or every N-th) of the packaged screening sheet is marked over the film,
and the resident memory of each process is read twice a second until the analysis has ended.
"""

from __future__ import annotations

import argparse
import http.client
import json
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from uuid import uuid4

import psutil

from review.domain.model import Recording
from review.pipeline.jobs import UNFINISHED
from review.store.home import Home
from review.store.repository import reading
from tests.benchmarks.demand import mark_all
from tests.homes import learners_home
from tests.ui.conftest import free_port

SLICE = 8 << 20
BESIDE_S = 0.5
TELL_S = 60.0


def figures(film: Path, every: int) -> dict[str, float]:
    """Measure a film; memory in MB, times in seconds."""
    with tempfile.TemporaryDirectory(prefix="memory") as folder:
        home, person = learners_home(Path(folder) / "home")
        port = free_port()
        order = [sys.executable, "-m", "review", "open", "--home", str(home.root), "--port", str(port), "--no-browser"]
        with subprocess.Popen(order) as app:
            try:
                seen: dict[str, float] = {}
                began = time.perf_counter()
                _send(port, film)
                _until(lambda: _recording(home) is not None, app.pid, seen)
                taken_in_s = time.perf_counter() - began
                recording = _recording(home)
                assert recording is not None
                mark_all(home, person, recording, every)
                _until(lambda: _state(home, recording) not in UNFINISHED, app.pid, seen)
                whole_s = time.perf_counter() - began
                print(_state(home, recording), file=sys.stderr)
            finally:
                others = psutil.Process(app.pid).children(recursive=True)
                app.terminate()
                psutil.wait_procs(others, timeout=60)
    return {"taken_in_s": taken_in_s, "whole_s": whole_s, **{f"{name}_mb": peak for name, peak in seen.items()}}


def _send(port: int, film: Path) -> None:
    """Send the film as the page does, in slices, and ask for it to be added."""
    uid, origin = uuid4().hex, {"Origin": f"http://127.0.0.1:{port}"}
    with film.open("rb") as file:
        at = 0
        while part := file.read(SLICE):
            _ask(port, "PUT", f"/api/upload/{uid}?offset={at}", part, origin)
            at += len(part)
    wishes = {"as": "L-07", "file": film.name, "size": at, "name": None, "checklist": None, "mirrored": False}
    _ask(port, "POST", f"/api/upload/{uid}/finish", json.dumps(wishes).encode(), origin)


def _ask(port: int, method: str, path: str, body: bytes, headers: Mapping[str, str]) -> None:
    """Send one request; for a minute again and again while nobody answers."""
    for left in reversed(range(120)):
        try:
            connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
            connection.request(method, path, body, dict(headers))
            answer = connection.getresponse()
            if answer.status >= 400:
                raise SystemExit(f"{method} {path}: {answer.status} {answer.read()[:300]!r}")
            return
        except ConnectionRefusedError:
            if not left:
                raise
            time.sleep(BESIDE_S)


def _until(done: Callable[[], bool], app: int, seen: dict[str, float]) -> None:
    """Look at the memory until something is done; every minute the greatest so far is told."""
    told_s = time.monotonic()
    while not done():
        _look(app, seen)
        if time.monotonic() - told_s > TELL_S:
            told_s = time.monotonic()
            print(", ".join(f"{name} {peak:.0f} MB" for name, peak in seen.items()), file=sys.stderr, flush=True)
        time.sleep(BESIDE_S)


def _look(app: int, seen: dict[str, float]) -> None:
    """Note the memory of the app, of the process that works beside it, of each kind of its children.

    All that is resident, and the ``share`` of it: libraries that several processes hold count among these (PSS, Linux).
    """
    for process in [psutil.Process(app), *psutil.Process(app).children(recursive=True)]:
        try:
            line, size = " ".join(process.cmdline()), process.memory_info().rss / 1e6
            share = process.memory_full_info().pss / 1e6
        except psutil.Error:
            continue
        kind = "app" if process.pid == app else "working" if " work " in f" {line} " else "reader"
        if "spawn_main" in line:
            kind = "worker"
        seen[kind] = max(size, seen.get(kind, 0.0))
        seen[f"{kind}_share"] = max(share, seen.get(f"{kind}_share", 0.0))


def _recording(home: Home) -> Recording | None:
    with reading(home) as repo:
        return next(iter(repo.recordings()), None)


def _state(home: Home, recording: Recording) -> str:
    with reading(home) as repo:
        job = repo.job(recording.id)
        return "waiting" if job is None else job.state


def main() -> None:
    """Print the figures of one film."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("film", type=Path)
    parser.add_argument("--every", type=int, default=1, metavar="N", help="mark one step of so many")
    parser.add_argument("--json", action="store_true")
    args = parser.parse_args()
    found = {name: round(number, 1) for name, number in figures(args.film, args.every).items()}
    print(json.dumps(found) if args.json else "\n".join(f"{name:>16}  {value:g}" for name, value in found.items()))


if __name__ == "__main__":
    main()
