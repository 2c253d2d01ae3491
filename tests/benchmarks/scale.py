"""What an hour of film costs, by stage of the analysis, and how much sooner two workers are done than one.

Run: ``python -m tests.benchmarks.scale FILM [--workers 1 2] [--json]``

The film is analysed in a fresh home for each number of workers of a Dask cluster, each worker held to a core of its
own. Computing is that of the processes that do the units of work, by stage, and that of this process, which hands out
and keeps. *Efficiency* is the time of one worker over that of several times their number, from the first unit handed
out to the last one kept, and beside it of the whole with the values.
"""

from __future__ import annotations

import argparse
import json
import os
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from unittest.mock import patch

import psutil
from sqlalchemy import event
from sqlalchemy.engine import Engine

from review.actions import people
from review.actions.checklists import install_shipped
from review.actions.recordings import add, start_analysis
from review.domain.model import Role
from review.pipeline.cluster import Cluster
from review.pipeline.dispatch import Dispatcher
from review.pipeline.plan import STAGES
from review.store.home import find_home
from review.store.repository import reading, repository
from tests import cluster
from tests.benchmarks.timed import timed


@dataclass
class Timed(Cluster):
    """A cluster that counts what its units cost, by stage."""

    spent: Counter[str] = field(default_factory=Counter)
    units: int = 0
    first: float = 0.0
    last: float = 0.0

    def submit(self, fn: Callable[..., Any], /, *args: Any, **named: Any) -> Future[Any]:
        """Hand out a unit that is timed."""
        told: Future[Any] = Future()
        (order,) = args
        stage = "The sound" if order.chunk.key == "sound" else STAGES[order.chunk.stage]
        self.first = self.first or time.monotonic()

        def back(done: Future[Any]) -> None:
            error = done.exception()
            if error is not None:
                told.set_exception(error)
                return
            seen, cpu_s = done.result()
            self.spent[stage] += cpu_s
            self.units, self.last = self.units + 1, time.monotonic()
            told.set_result(seen)

        super().submit(timed, fn, order, **named).add_done_callback(back)
        return told


def run(film: Path, workers: int, folder: Path) -> dict[str, Any]:
    """Analyse a film with so many workers."""
    home = find_home(folder / f"home{workers}")
    statements = Counter[str]()
    with repository(home) as repo:
        install_shipped(repo)
        person = people.ensure(repo, "L-07", Role.LEARNER)
    recording = add(home, person, film)
    start_analysis(home, person, recording.id)
    names = [f"worker-{number}" for number in range(workers)]
    with cluster.running(folder / f"cluster{workers}") as machines:
        for number, name in enumerate(names):
            machines.start_worker(name)
            psutil.Process(machines.workers[name].pid).cpu_affinity([number % (psutil.cpu_count() or 1)])
        machines.ready(workers)
        pool = Timed(home, machines.address)

        def counted(*told: Any) -> None:
            statements[str(told[2]).split(None, 1)[0].lower()] += 1

        event.listen(Engine, "before_cursor_execute", counted)
        began, own = time.monotonic(), time.process_time()
        Dispatcher(home, executor=pool).run()
        whole_s, own_s = time.monotonic() - began, time.process_time() - own
        event.remove(Engine, "before_cursor_execute", counted)
        pool.shutdown()
    with reading(home) as repo:
        (job,) = repo.jobs()
    if job.state != "done":
        raise SystemExit(f"The film was not analysed: {job.message}")
    kept = sum(path.stat().st_size for path in home.tracks.rglob("*") if path.is_file())
    took = {"units_s": round(pool.last - pool.first, 2), "whole_s": round(whole_s, 2)}
    return {"workers": workers, "film_s": round(recording.duration_s, 1), "units": pool.units, **took} | {
        **_hourly(pool.spent, own_s, film.stat().st_size, kept, 3600 / recording.duration_s),
        "statements_a_unit": round(statements.total() / pool.units, 1),
    }


def _hourly(spent: Counter[str], own_s: float, film_bytes: int, kept: int, per_hour: float) -> dict[str, Any]:
    return {
        "cpu_s_an_hour": {stage: round(one * per_hour) for stage, one in spent.items()},
        "here_cpu_s_an_hour": round(own_s * per_hour),
        "film_mb_an_hour": round(film_bytes / 1e6 * per_hour),
        "tracks_mb_an_hour": round(kept / 1e6 * per_hour, 1),
    }


def figures(film: Path, workers: list[int]) -> list[dict[str, Any]]:
    """Return what each number of workers took, with its efficiency against the first."""
    found: list[dict[str, Any]] = []
    here = patch.dict(os.environ, PYTHONPATH=str(Path(__file__).parents[2]))  # units come from this file
    with tempfile.TemporaryDirectory(prefix="scale") as made, here:
        for many in workers:
            found.append(run(film, many, Path(made)))
            for name in ("units_s", "whole_s"):
                share = found[0][name] * found[0]["workers"] / (found[-1][name] * many)
                found[-1][f"efficiency_{name}"] = round(share, 3)
    return found


def main() -> None:
    """Print the figures as lines, or as JSON."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("film", type=Path)
    parser.add_argument("--workers", type=int, nargs="+", default=[1, 2])
    parser.add_argument("--json", action="store_true")
    args = parser.parse_args()
    found = figures(args.film, args.workers)
    if args.json:
        print(json.dumps(found))
        return
    for one in found:
        print("\n".join(f"{name:>22}  {value}" for name, value in one.items()), end="\n\n")


if __name__ == "__main__":
    main()
