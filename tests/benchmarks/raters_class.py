"""The demo's class of sixty, and what the reports behind the pages take for it."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from review.actions.class_demo import Cast, load_class
from review.domain.model import Person, Recording
from review.report.attempt import board
from review.report.cohort import cohort
from review.report.compare import compare
from review.report.progress import progress
from review.report.recordings import listed
from review.store.home import Home, find_home
from review.store.repository import reading

_AT_ONCE = 20


def make(root: Path) -> tuple[Home, Cast, Recording]:
    """Make the class, or find it there; return it with the newest attempt of its first learner."""
    home = find_home(root)
    cast = load_class(home, lambda stage, share: print(f"\r{100 * share:3.0f} % {stage:<60}", end="", flush=True))
    print()
    with reading(home) as repo:
        newest = next(one for one in repo.recordings() if one.added_by == cast.learners[0].id)
    return home, cast, newest


def time_pages(root: Path) -> None:
    """Print how long each page's report takes, for a learner and for an instructor."""
    home, cast, newest = make(root)
    for person in (cast.learners[0], cast.instructors[0]):
        for name, report in _reports(home, person, newest).items():
            spent = []
            for _ in range(3):
                start = time.perf_counter(), time.process_time()
                report()
                spent.append((time.perf_counter() - start[0], time.process_time() - start[1]))
            elapsed, computing = min(spent)
            print(f"{name:<12}{person.code:<8}{elapsed:6.2f} s, of it {computing:.2f} s computing")


def _list(home: Home, person: Person) -> None:
    with reading(home) as repo:
        listed(repo, person, _AT_ONCE)


def _reports(home: Home, person: Person, newest: Recording) -> dict[str, Callable[[], Any]]:
    reports: dict[str, Callable[[], Any]] = {
        "recordings": lambda: _list(home, person),
        "review": lambda: board(home, newest.id, person),
        "compare": lambda: compare(home, person),
        "progress": lambda: progress(home, person),
    }
    teaches = person.role == "instructor"
    return {**reports, "class": lambda: cohort(home, person)} if teaches else reports
