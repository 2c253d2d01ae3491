"""What the pages ask of the database: as many statements for many attempts as for a few."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from review.actions import grades, marks
from review.domain.model import Person
from review.report.attempt import board
from review.report.capture_check import capture_checks
from review.report.compare import compare
from review.report.consents import noted, taken_back
from review.report.privacy import privacy, soon_erased
from review.report.progress import progress
from review.report.recordings import find, listed, newest
from review.report.sharing import shared
from review.store.home import Home, find_home
from review.store.repository import Repository, reading, repository
from tests.counting import statements
from tests.store import made


def attempts(repo: Repository, numbers: range) -> None:
    """Add attempts, and have their learner and a peer say something of each."""
    for number in numbers:
        film = made.recording(f"{number:02d}c2c3", added_at=made.WHEN + timedelta(days=number), attempt=number)
        repo.add_recording(film)
        marks.place(repo, made.LEARNER, film, "romberg", None, 1.0, 2.0)
        for person in (made.LEARNER, made.PEER):
            grades.give(repo, person, film, "romberg", None, "yes")


@pytest.fixture
def home(tmp_path: Path) -> Home:
    """Make a home of three attempts."""
    found = find_home(tmp_path / "home")
    with repository(found) as repo:
        made.fill(repo)
        attempts(repo, range(2, 4))
    return found


def around_the_list(home: Home, person: Person) -> None:
    """Ask for what the page Recordings says beside its rows."""
    with reading(home) as repo:
        ids = [row["id"] for row in listed(repo, person)["rows"]]
        for told in (noted, taken_back, shared):
            told(repo, person)
        soon_erased(repo)
        capture_checks(home, repo, person, 0.0, ids)


def last_attempt(home: Home, person: Person) -> None:
    """Ask for the Review page of the newest attempt, beside which all earlier ones can be shown."""
    found = newest(home, person)
    assert found is not None
    board(home, found.id, person)


@pytest.mark.parametrize(
    ("report", "most"),
    [
        pytest.param(last_attempt, 40, id="review"),
        pytest.param(lambda home, person: find(home, person, "02c2c3"), 8, id="each request about one attempt"),
        pytest.param(around_the_list, 17, id="recordings"),
        pytest.param(compare, 15, id="compare"),
        pytest.param(progress, 15, id="progress"),
        pytest.param(privacy, 15, id="privacy"),
    ],
)
def test_many_attempts_ask_no_more_than_a_few(home: Home, report: Callable[[Home, Person], Any], most: int) -> None:
    """Eight more attempts, each with marks and grades, are read with as many statements."""
    with statements() as few:
        report(home, made.LEARNER)
    with repository(home) as repo:
        attempts(repo, range(4, 12))
    with statements() as many:
        report(home, made.LEARNER)
    assert len(many) == len(few) <= most
