"""How soon marks are stored while many people review at once, and whether all of them stay.

Run: ``python -m tests.benchmarks.load [--browsers 50] [--minutes 10] [--database sqlite|postgres]
[--people 2] [--every 12] [--json]``

A course is made in a temporary home, some people to a film, and the server is started on it as ``runthrough open``
does. Each browser holds a login of its own and does, over loopback alone, what the Review page does: it plays the film
in stretches of 256 KiB, asks every 0.8 s whether others said something and has the board sent anew if so, marks a step
about every 12 s (a sheet of 40 places within 8 minutes), has the board sent anew, and then fetches what belongs to the
new mark. A mark counts from when it is sent until the server answers that it is stored; how long it is until a board
comes that has it is told beside it. At the end the server is ended, and the database is asked for each acknowledged
mark: it has to be there exactly once. The browsers share the machine with the server, so their own seconds of computing
are told as well. The PostgreSQL server is that of the tests, which does not wait for the disk.
"""

from __future__ import annotations

import argparse
import asyncio
import json
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, nullcontext, suppress
from pathlib import Path
from typing import Any, Final

import psutil

from review.store.home import Home
from review.store.repository import reading
from tests.benchmarks.load_browser import Browser, Tally
from tests.benchmarks.load_home import Seat, make
from tests.postgres import running
from tests.screens import free_port

ARRIVING_S: Final = 30.0
"""Within how long all come at most, and never later than after a tenth of the time."""

READY_S: Final = 120
ENDING_S: Final = 20.0


def main() -> None:
    """Make the home, let the browsers in, and print what they met with."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--browsers", type=int, default=50, help="how many people review at once")
    parser.add_argument("--minutes", type=float, default=10.0, help="for how long")
    parser.add_argument("--database", choices=("sqlite", "postgres"), default="sqlite")
    parser.add_argument("--people", type=int, default=2, help="how many of them review each film")
    parser.add_argument("--every", type=float, default=12.0, help="seconds from a mark to the next")
    parser.add_argument("--json", action="store_true", help="print one object instead")
    args = parser.parse_args()
    signal.signal(signal.SIGTERM, signal.default_int_handler)  # the servers are ended then too
    serving = running() if args.database == "postgres" else nullcontext()
    with serving as server, tempfile.TemporaryDirectory(prefix="load") as folder:
        address = server.address(server.fresh()) if server else ""
        home, seats = make(Path(folder) / "home", args.browsers, args.people, address)
        tally, used = _loaded(home, seats, 60 * args.minutes, args.every)
        figures = {name: getattr(args, name) for name in ("browsers", "minutes", "database", "people", "every")}
        figures |= {**_marks(tally), "errors": tally.errors.total(), "missing": missing(home, tally)}
    if args.json:
        print(json.dumps(figures))
    else:
        _tell(figures, tally, used)


def _loaded(home: Home, seats: Sequence[Seat], seconds: float, every_s: float) -> tuple[Tally, dict[str, float]]:
    """Let all browsers do what they do for some seconds; return what they met with, and how busy the machine was."""
    tally, load = Tally(), os.getloadavg()[0]
    with opened(home) as (address, process):
        before, own, began = computed(process), time.process_time(), time.monotonic()
        asyncio.run(_browse(address, seats, began + seconds, tally, every_s))
        lasted = time.monotonic() - began
        used = {"server": computed(process) - before, "browsers": time.process_time() - own}
    return tally, {"load": load, "seconds": lasted, **{name: spent / lasted for name, spent in used.items()}}


async def _browse(address: str, seats: Sequence[Seat], until: float, tally: Tally, every_s: float) -> None:
    spread = min(ARRIVING_S, 0.1 * (until - time.monotonic()))
    arriving = [random.uniform(0, spread) for _ in seats]
    browsers = [Browser(address, seat, until, tally, every_s) for seat in seats]
    await asyncio.gather(*(one.run(after_s) for one, after_s in zip(browsers, arriving, strict=True)))


@contextmanager
def opened(home: Home) -> Iterator[tuple[str, psutil.Process]]:
    """Run ``runthrough open`` on a home; the value is its address and its process. It is ended whatever happens."""
    port = free_port()
    order = [sys.executable, "-m", "review", "open", "--no-browser", "--port", str(port), "--home", str(home.root)]
    with open(home.root.parent / "server.log", "w+b") as log:
        process = subprocess.Popen(order, stdout=log, stderr=subprocess.STDOUT, start_new_session=True)
        try:
            _wait_for(f"http://127.0.0.1:{port}", process)
            yield f"http://127.0.0.1:{port}", psutil.Process(process.pid)
        finally:
            _end(process)
            log.seek(0)
            said = log.read().decode(errors="replace").splitlines()[2:]
            print("\n".join(said[-20:]), file=sys.stderr, end="\n" if said else "")


def _wait_for(address: str, process: subprocess.Popen[bytes]) -> None:
    for _ in range(4 * READY_S):
        if process.poll() is not None:
            raise SystemExit(f"the server ended by itself ({process.returncode})")
        with suppress(urllib.error.URLError, OSError), urllib.request.urlopen(f"{address}/health", timeout=5):
            return
        time.sleep(0.25)
    raise SystemExit(f"the server did not answer within {READY_S} s")


def _end(process: subprocess.Popen[bytes]) -> None:
    """End a process with those it started: first as a service is ended, then by force."""
    for way in (signal.SIGTERM, signal.SIGKILL):
        with suppress(ProcessLookupError):
            os.killpg(process.pid, way)
        with suppress(subprocess.TimeoutExpired):
            process.wait(ENDING_S)


def computed(process: psutil.Process) -> float:
    """Return the seconds of computing of a process and of those it started and that still run."""
    found = 0.0
    for one in (process, *process.children(recursive=True)):
        with suppress(psutil.NoSuchProcess):
            spent = one.cpu_times()
            found += spent.user + spent.system
    return found


def missing(home: Home, tally: Tally) -> int:
    """Return how many acknowledged marks are not in the database exactly once."""
    with reading(home) as repo:
        codes = {one.id: one.code for one in repo.people()}
        revisions = [one for mark_id in {told[2] for told in tally.stored} for one in repo.mark_history(mark_id)]
    there = Counter(
        (
            codes[one.person_id],
            one.recording_id,
            one.id,
            round(one.interval.onset_s, 3),
            round(one.interval.offset_s, 3),
        )
        for one in revisions
    )
    return sum(there[told] != 1 for told in tally.stored)


def _marks(tally: Tally) -> dict[str, Any]:
    told = {"mark_p50_ms": 0.5, "mark_p95_ms": 0.95, "mark_max_ms": 1.0}
    return {"marks": len(tally.stored), **{name: _quantile(tally.mark_ms, share) for name, share in told.items()}}


def _quantile(values: Sequence[float], share: float) -> float | None:
    """Return the smallest value that at least a share of all do not exceed; None where there are none."""
    ordered = sorted(values)
    return round(ordered[max(0, -int(-share * len(ordered) // 1) - 1)], 1) if ordered else None


def _tell(figures: dict[str, Any], tally: Tally, used: dict[str, float]) -> None:
    asked = sum(map(len, tally.answers_ms.values()))
    print(
        f"{figures['browsers']} browsers, {figures['minutes']:g} min, {figures['database']}, "
        f"{figures['people']} to a film, a mark every {figures['every']:g} s"
    )
    print(f"marks stored      {figures['marks']}, of them not in the database exactly once: {figures['missing']}")
    shares = {"p50": 0.5, "p95": 0.95, "p99": 0.99, "max": 1.0}
    print("acknowledged, ms  " + ", ".join(f"{name} {_quantile(tally.mark_ms, at)}" for name, at in shares.items()))
    print("on a board, ms    " + ", ".join(f"{name} {_quantile(tally.shown_ms, at)}" for name, at in shares.items()))
    print(f"errors            {figures['errors']}")
    for kind, count in tally.errors.most_common():
        print(f"    {count:>6}  {kind}")
    print(f"played            {tally.played_bytes / 1e6:.1f} MB")
    print(f"requests          {asked / used['seconds']:.1f} a second")
    print(f"boards            {tally.boards / used['seconds']:.1f} a second")
    print(f"computing         server {used['server']:.2f} cores, browsers {used['browsers']:.2f} cores")
    print(f"load before       {used['load']:.1f}")
    print(f"{'answers, ms':<18}{'count':>7}{'p50':>9}{'p95':>9}{'max':>9}")
    for kind, found in sorted(tally.answers_ms.items()):
        print(f"    {kind:<14}{len(found):>7}" + "".join(f"{_quantile(found, at):>9}" for at in (0.5, 0.95, 1.0)))


if __name__ == "__main__":
    main()
