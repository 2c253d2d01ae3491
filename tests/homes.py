"""A home to begin a test with."""

from __future__ import annotations

from pathlib import Path

from review.actions import checklists, people
from review.domain.model import Person, Role
from review.store.home import Home, find_home
from review.store.repository import repository


def learners_home(root: Path, instructor: str = "") -> tuple[Home, Person]:
    """Make a home with the packaged sheets, L-07, a learner, and an instructor of that code; return it and L-07."""
    home = find_home(root)
    with repository(home) as repo:
        checklists.install_shipped(repo)
        if instructor:
            people.ensure(repo, instructor, Role.INSTRUCTOR)
        return home, people.ensure(repo, "L-07", Role.LEARNER)
