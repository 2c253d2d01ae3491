"""Overall ratings and expectations of a borderline learner: who may give them, and what is refused."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from review.actions.grades import give
from review.actions.standards import expect, rate
from review.domain.course import CourseRole
from review.domain.errors import EntryRefused, NotAllowed
from review.domain.model import Recording
from review.store.home import find_home
from review.store.repository import Repository, repository
from tests.store import made


@pytest.fixture
def repo(tmp_path: Path) -> Iterator[Repository]:
    """Open a transaction on a home with people, a sheet and a recording."""
    with repository(find_home(tmp_path / "home")) as repo:
        made.fill(repo)
        yield repo


@pytest.fixture
def film(repo: Repository) -> Recording:
    """Return the recording, in which the instructor has graded a step."""
    film = repo.recording("a1b2c3")
    give(repo, made.INSTRUCTOR, film, "romberg", None, "yes")
    return film


def ratings(repo: Repository) -> list[int]:
    """Return the ratings that are stored."""
    return [one.rating for one in repo.standards().overall(["a1b2c3"])]


def test_a_rating_is_given_changed_and_taken_back(repo: Repository, film: Recording) -> None:
    """One rating a person and attempt."""
    rate(repo, made.INSTRUCTOR, film, 2)
    rate(repo, made.INSTRUCTOR, film, 4)
    assert ratings(repo) == [4]
    rate(repo, made.INSTRUCTOR, film, None)
    assert ratings(repo) == []


def test_who_has_graded_nothing_rates_nothing(repo: Repository) -> None:
    """The rating is given after the steps were graded, and by an instructor."""
    film = repo.recording("a1b2c3")
    with pytest.raises(EntryRefused, match="graded no step"):
        rate(repo, made.INSTRUCTOR, film, 3)
    with pytest.raises(EntryRefused, match="an instructor's"):
        rate(repo, made.LEARNER, film, 3)
    assert ratings(repo) == []


def test_another_number_is_told_with_those_there_are(repo: Repository, film: Recording) -> None:
    """The five ratings with their words."""
    with pytest.raises(EntryRefused, match=r"2 \(borderline\)"):
        rate(repo, made.INSTRUCTOR, film, 6)


def test_ratings_go_with_their_recording(repo: Repository, film: Recording) -> None:
    """Erasing a recording takes its ratings along."""
    rate(repo, made.INSTRUCTOR, film, 3)
    repo.erase_recording(film.id)
    assert ratings(repo) == []


def test_chances_are_stored_step_by_step(repo: Repository) -> None:
    """A further call changes what it names and leaves the rest."""
    assert expect(repo, made.INSTRUCTOR, None, "short_sheet", {("romberg", None): 0.6, ("knee", "left"): 0.5}) == 2
    expect(repo, made.INSTRUCTOR, None, "short_sheet", {("knee", "left"): 0.8})
    found = repo.standards().expectations("", "short_sheet")
    assert [(one.step_id, one.side, one.chance) for one in found] == [("knee", "left", 0.8), ("romberg", None, 0.6)]
    assert repo.standards().expectations("evening", "short_sheet") == ()


def test_all_faults_of_chances_are_told_and_nothing_is_stored(repo: Repository) -> None:
    """A step that is not there and a chance beyond 100 % are named together; a learner expects nothing."""
    with pytest.raises(EntryRefused, match=r"ankle: no step.*Romberg: 150 %"):
        expect(repo, made.INSTRUCTOR, None, "short_sheet", {("romberg", None): 1.5, ("ankle", None): 0.5})
    with pytest.raises(NotAllowed, match="see this course as a whole"):
        expect(repo, made.LEARNER, None, "short_sheet", {("romberg", None): 0.5})
    assert repo.standards().expectations("", "short_sheet") == ()


def test_where_people_sign_in_chances_belong_to_a_course(repo: Repository) -> None:
    """An instructor of two courses has to say for which of them; nothing is stored without."""
    staff = replace(made.INSTRUCTOR, courses={"balance": CourseRole.INSTRUCTOR, "other": CourseRole.OWNER})
    with pytest.raises(EntryRefused, match="No course was named"):
        expect(repo, staff, None, "short_sheet", {("romberg", None): 0.6})
    assert expect(repo, staff, "other", "short_sheet", {("romberg", None): 0.6}) == 1
