"""A class of sixty learners, six attempts each, every step graded by three people; and what the pages take for it."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any, Final

import numpy as np
from sqlalchemy import insert

from review.actions import checklists, people
from review.domain.model import Person, Recording, Role
from review.report.compare import compare
from review.report.progress import progress
from review.store.home import Home, find_home
from review.store.repository import Repository, repository
from review.store.tables import GradeRow, UncoveringRow
from tests.store.made import WHEN, recording

LEARNERS: Final = 60
ATTEMPTS: Final = 6
_LEVELS: Final = np.array(["full", "partly", "missed"])


def time_pages(root: Path) -> None:
    """Print how long each page's report takes, for a learner and for an instructor who has seen everything."""
    home, cast = make(root)
    for person in (cast["L-001"], cast["I-01"]):
        for name, report in (("compare", compare), ("progress", progress)):
            spent = []
            for _ in range(3):
                start = time.perf_counter(), time.process_time()
                report(home, person, learner="L-001")
                spent.append((time.perf_counter() - start[0], time.process_time() - start[1]))
            elapsed, computing = min(spent)
            print(f"{name:<10}{person.code:<8}{elapsed:6.2f} s, of it {computing:.2f} s computing")


def make(root: Path) -> tuple[Home, dict[str, Person]]:
    """Make the class, or find it there."""
    home = find_home(root)
    with repository(home) as repo:
        checklists.install_shipped(repo)
        codes = {f"L-{number:03d}": Role.LEARNER for number in range(1, LEARNERS + 1)}
        cast = {code: people.ensure(repo, code, role) for code, role in {**codes, **_STAFF}.items()}
        if not repo.recordings():
            for number, code in enumerate(codes):
                for attempt in range(1, ATTEMPTS + 1):
                    _attempt(repo, cast, code, number, attempt)
    return home, cast


_STAFF: Final = {"P-01": Role.PEER, "I-01": Role.INSTRUCTOR, "I-02": Role.INSTRUCTOR}


def _attempt(repo: Repository, cast: dict[str, Person], code: str, number: int, attempt: int) -> None:
    sheet = repo.checklist("neuro_screening")
    film = replace(
        recording(f"{number:03d}{attempt}abc", added_by=cast[code].id, attempt=attempt),
        checklist_id=sheet.id,
        checklist_version=sheet.version,
        added_at=WHEN + timedelta(days=7 * attempt),
    )
    repo.add_recording(film)
    raters = [cast[code], cast["P-01"], cast[("I-01", "I-02")[number % 2]]]
    session = repo._session
    session.execute(insert(GradeRow), list(_grades(film, raters, [(s.id, w) for s in sheet.steps() for w in s.places])))
    seen = [{"recording_id": film.id, "person_id": who.id, "step_id": "", "side": "", "at": WHEN} for who in raters]
    session.execute(insert(UncoveringRow), seen)


def _grades(film: Recording, raters: list[Person], places: list[tuple[str, Any]]) -> Iterator[dict[str, Any]]:
    rng = np.random.default_rng(int(film.id[:4]))
    truth = rng.choice(3, len(places), p=(0.7, 0.2, 0.1))
    for who in raters:
        given = np.where(rng.random(len(places)) < 0.75, truth, rng.integers(0, 3, len(places)))
        for place, (step, side) in enumerate(places):
            yield {
                "id": f"{film.id}-{who.code}-{place}",
                "revision": 1,
                "recording_id": film.id,
                "person_id": who.id,
                "at": WHEN,
                "removed": False,
                "side": side,
                "step_id": step,
                "criterion_id": None,
                "level": str(_LEVELS[given[place]]),
                "confidence": 2,
                "after_reveal": False,
            }
