"""Which course a new recording belongs to, whether that has room, and whose a film is that is here already."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from review.actions.belonging import course_for, known_to, no_room_for
from review.domain.course import Course, CourseRole
from review.domain.errors import EntryRefused
from review.domain.model import Person
from review.store.home import find_home
from review.store.repository import repository
from tests.store import made

IN_ONE = replace(made.LEARNER, courses={"balance": CourseRole.LEARNER})
IN_TWO = replace(made.LEARNER, courses={"balance": CourseRole.LEARNER, "nerves": CourseRole.LEARNER})
IN_NONE = replace(made.LEARNER, courses={})


def test_without_accounts_there_is_no_course() -> None:
    """Whoever is at the machine adds films to no course, whatever was named."""
    assert course_for(made.LEARNER, None) is None
    assert course_for(made.LEARNER, "balance") is None


def test_the_only_course_is_taken_and_of_several_the_one_named() -> None:
    """One course needs no naming; of two the named one is taken."""
    assert course_for(IN_ONE, None) == "balance"
    assert course_for(IN_TWO, "nerves") == "nerves"


@pytest.mark.parametrize(
    ("person", "asked", "words"),
    [
        (IN_TWO, None, "belongs to 2 courses, and no course was named"),
        (IN_TWO, "hearing", "'hearing' was named"),
        (IN_ONE, "hearing", "belongs to 1 courses, and 'hearing' was named"),
        (IN_NONE, None, "belongs to 0 courses"),
    ],
    ids=["two, none named", "two, another", "one, another", "none"],
)
def test_what_is_not_clear_is_refused(person: Person, asked: str | None, words: str) -> None:
    """Nothing is guessed: the message says how many courses there are and what was named."""
    with pytest.raises(EntryRefused, match=words):
        course_for(person, asked)


def test_only_the_course_that_is_meant_has_to_have_room(tmp_path: Path) -> None:
    """Where it is not clear which one that is, or there are no accounts, nothing is said yet."""
    home = find_home(tmp_path / "home")
    with repository(home) as repo:
        repo.courses().put(Course("balance", "Balance lab", made.WHEN, quota_bytes=1000))
        repo.courses().put(Course("nerves", "Nerves", made.WHEN))
    full = no_room_for(home, IN_ONE, None, 1001)
    assert full is not None
    assert "GB for the films of Balance lab" in full
    assert no_room_for(home, IN_ONE, None, 1000) is None
    assert no_room_for(home, IN_TWO, "balance", 1001) == full
    assert no_room_for(home, IN_TWO, "nerves", 1001) is None
    assert [no_room_for(home, one, None, 1001) for one in (IN_TWO, IN_NONE, made.LEARNER)] == [None, None, None]
    assert no_room_for(home, IN_ONE, "nerves", 1001) is None


def test_a_film_of_somebody_else_is_refused_where_people_sign_in() -> None:
    """Without accounts the recording that has the film is returned; with them only to who added it."""
    film = made.recording()
    assert known_to(made.OTHER_LEARNER, film) == film
    assert known_to(IN_ONE, film) == film
    with pytest.raises(EntryRefused, match="Somebody else added this very film"):
        known_to(replace(made.OTHER_LEARNER, courses={"balance": CourseRole.LEARNER}), film)
