"""A home with a course: learners who hand in, and instructors who grade; the examined persons agreed to that."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Final

from review.domain.checklist_file import parse_checklist
from review.domain.course import Course, CourseRole, Membership
from review.domain.model import Person, Role
from review.domain.sharing import Audience, Bystanders, Consent
from review.store.home import Home, find_home
from review.store.repository import Repository, repository
from tests.store import made

COURSE: Final = "evening"
CAST: Final = {"L-01": "learner", "L-02": "learner", "I-01": "owner", "I-02": "instructor", "I-03": "instructor"}


def teach(root: Path, second_share: float) -> Home:
    """Make a home in which people sign in, with one course."""
    home = find_home(root)
    with repository(home) as repo:
        repo.put_checklist(parse_checklist(made.SHEET, "short"), made.SHEET)
        repo.courses().put(Course(COURSE, "Fenwick Shore, evening class", made.WHEN, second_share=second_share))
        for code, role in CAST.items():
            who = Role.LEARNER if role == "learner" else Role.INSTRUCTOR
            repo.put_person(Person(f"c-{code}", code, who))
            repo.courses().put_member(Membership(COURSE, f"c-{code}", CourseRole(role)))
        repo.courses().start_signing_in()
    return home


def cast_of(repo: Repository) -> dict[str, Person]:
    """Return the members of the course by code."""
    return {one.code: one for one in repo.people()}


def hand_in(repo: Repository, learner: Person, number: int) -> str:
    """Add an attempt of a learner's that was handed in the day after; return its id."""
    at = made.WHEN + timedelta(days=number)
    film = made.recording(f"{number:02d}d4d5", added_by=learner.id, added_at=at, attempt=number)
    repo.add_recording(film)
    repo.sharings().put_in_course(film.id, COURSE, at + timedelta(days=1))
    terms = frozenset({Audience.INSTRUCTORS})
    repo.sharings().put_consent(Consent(film.id, 1, terms, None, Bystanders.NOBODY, "A. B.", learner.id, at))
    return film.id
