"""A home to begin a test with."""

from __future__ import annotations

from pathlib import Path

from review.actions import checklists, people
from review.domain.model import Person, Role
from review.store.home import Home, find_home
from review.store.repository import repository


def learners_home(root: Path) -> tuple[Home, Person]:
    """Make a home with the packaged sheets and one learner, L-07; return it and the learner."""
    home = find_home(root)
    with repository(home) as repo:
        checklists.install_shipped(repo)
        return home, people.ensure(repo, "L-07", Role.LEARNER)
