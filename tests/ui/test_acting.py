"""Who acts where nobody is named: whoever added the newest recording, found with a fixed number of questions."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest

from review.actions import people
from review.domain.errors import NotFound
from review.domain.model import Role
from review.store.home import Home, find_home
from review.store.repository import repository
from tests.counting import statements
from tests.store import made
from ui.acting import FIRST_CODE, acting, everybody


@pytest.fixture
def home(tmp_path: Path) -> Home:
    """Make a home with four people and one recording."""
    found = find_home(tmp_path / "home")
    with repository(found) as repo:
        made.fill(repo)
    return found


def test_the_newest_recordings_owner_is_likely(home: Home) -> None:
    """It is the learner of the only recording, then another who added a newer one."""
    assert acting(home, None) == made.LEARNER
    with repository(home) as repo:
        later = made.WHEN + timedelta(days=1)
        repo.add_recording(made.recording("b2c3d4", added_by=made.OTHER_LEARNER.id, added_at=later))
    assert acting(home, None) == made.OTHER_LEARNER
    assert acting(home, "I-01") == made.INSTRUCTOR
    with pytest.raises(NotFound, match="X-99"):
        acting(home, "X-99")


def test_an_empty_home_has_a_first_learner(tmp_path: Path) -> None:
    """Where nobody is known yet the first learner is made known, once."""
    home = find_home(tmp_path / "home")
    assert acting(home, None).code == FIRST_CODE
    assert [one.code for one in everybody(home)] == [FIRST_CODE]


def test_each_still_asks_as_much_in_a_class_as_alone(home: Home) -> None:
    """Stills, curves and landmarks name nobody, and come a hundred at a time: thirty more people cost nothing."""
    with statements() as few:
        acting(home, None)
    with repository(home) as repo:
        for number in range(30):
            people.ensure(repo, f"A-{number:02d}", Role.LEARNER)
    with statements() as many:
        acting(home, None)
    assert len(many) == len(few) <= 6
