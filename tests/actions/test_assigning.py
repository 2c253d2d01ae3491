"""Asking instructors to grade: by name or evenly at random, and a second one for a share of attempts."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from review.actions import handing_in
from review.actions.assigning import assign, draw_second, gets_second, second_for
from review.actions.grades import give
from review.domain.errors import NotAllowed, NotFound
from review.domain.model import Person, Role
from review.domain.sharing import Purpose
from review.store.home import Home, find_home
from review.store.repository import Repository, reading, repository
from tests.store import made
from tests.teaching import COURSE, cast_of, hand_in, teach


@pytest.fixture
def home(tmp_path: Path) -> Home:
    """Make a home with a course of two learners and three instructors, every attempt to be seen by instructors."""
    return teach(tmp_path / "home", second_share=0.0)


def purposes(repo: Repository, recording_id: str) -> dict[str, Purpose]:
    """Return who is asked as what, by code."""
    codes = {one.id: one.code for one in repo.people()}
    return {codes[one.person_id]: one.purpose for one in repo.recording(recording_id).sharing.requests}


def test_one_is_asked_by_code_and_another_in_his_place(home: Home) -> None:
    """Who was asked before and gave no grade is not asked any more; who gave one still is."""
    with repository(home) as repo:
        people = cast_of(repo)
        film = hand_in(repo, people["L-01"], 1)
        assign(repo, people["I-01"], [film], "i-02")
        assert purposes(repo, film) == {"I-02": Purpose.FIRST}
        assign(repo, people["I-01"], [film], "I-03")
        assert purposes(repo, film) == {"I-03": Purpose.FIRST}
        give(repo, people["I-03"], repo.recording(film), "romberg", None, "yes")
        assign(repo, people["I-01"], [film], "I-02")
        assert purposes(repo, film) == {"I-02": Purpose.FIRST, "I-03": Purpose.FIRST}


def test_at_random_everybody_gets_as_many(home: Home) -> None:
    """Seven attempts go to three instructors as 3, 2 and 2, and the next one to one of those with two."""
    with repository(home) as repo:
        people = cast_of(repo)
        films = [hand_in(repo, people["L-01"], number) for number in range(1, 8)]
        made = assign(repo, people["I-01"], films, None)
        counts = Counter(one.person_id for one in made)
        assert sorted(counts.values()) == [2, 2, 3]
        (eighth,) = assign(repo, people["I-01"], [hand_in(repo, people["L-02"], 8)], None)
        assert counts[eighth.person_id] == 2


def test_a_second_rater_is_drawn_for_the_share_and_is_never_the_first(tmp_path: Path) -> None:
    """With a share of one half those attempts get one whose sum lies below it; asked anew, nobody further is drawn."""
    home = teach(tmp_path / "home", second_share=0.5)
    with repository(home) as repo:
        people = cast_of(repo)
        films = [hand_in(repo, people["L-01"], number) for number in range(1, 13)]
        made = assign(repo, people["I-01"], films, None)
        seconds = {one.recording_id for one in made if one.purpose is Purpose.SECOND}
        assert seconds == {film for film in films if gets_second(film, 0.5)}
        assert 0 < len(seconds) < len(films)
        for film in seconds:
            assert sorted(purposes(repo, film).values()) == [Purpose.FIRST, Purpose.SECOND]
        assert not [one for one in assign(repo, people["I-01"], list(seconds), None) if one.purpose is Purpose.SECOND]


def test_a_second_rater_is_drawn_at_handing_in(tmp_path: Path) -> None:
    """Before anybody is asked; handed in anew nobody else is; asked as the first, that rater has another second one."""
    home = teach(tmp_path / "home", second_share=1.0)
    with repository(home) as repo:
        people = cast_of(repo)
        film = hand_in(repo, people["L-01"], 1)
        repo.sharings().put_in_course(film, COURSE)
        drawn = second_for(film, None, [people[code] for code in ("I-01", "I-02", "I-03")])
    assert drawn is not None
    for _ in range(2):
        handing_in.hand_in(home, people["L-01"], film)
        with reading(home) as repo:
            assert purposes(repo, film) == {drawn.code: Purpose.SECOND}
        handing_in.take_back(home, people["L-01"], film)
    with repository(home) as repo:
        repo.sharings().put_in_course(film, COURSE, made.WHEN)
        (first,) = assign(repo, people["I-01"], [film], None)
        assert first.person_id != drawn.id
        assert purposes(repo, film)[drawn.code] is Purpose.SECOND
        assign(repo, people["I-01"], [film], drawn.code)
        assert purposes(repo, film)[drawn.code] is Purpose.FIRST
        assert sorted(purposes(repo, film).values()) == [Purpose.FIRST, Purpose.SECOND]


def test_no_second_rater_without_a_share_or_a_second_instructor(home: Home) -> None:
    """With a share of 0, and where one instructor is all there are, handing in asks nobody."""
    with repository(home) as repo:
        people = cast_of(repo)
        film = hand_in(repo, people["L-01"], 1)
        assert draw_second(repo, people["L-01"], repo.recording(film)) is None
    assert second_for(film, None, [people["I-01"]]) is None


def test_the_draw_is_the_same_for_everybody() -> None:
    """By hand: the first 8 bytes of SHA-256 over "second" and the id, as a share; and the lowest sum of the others."""
    assert not gets_second("a1b2c3", 0.0)
    assert gets_second("a1b2c3", 1.0)
    assert sum(gets_second(f"film {number}", 0.2) for number in range(2000)) == pytest.approx(400, abs=60)
    staff = [Person(f"p-{number}", f"I-0{number}", Role.INSTRUCTOR) for number in range(1, 5)]
    drawn = Counter(second_for(f"film {number}", staff[0], staff) for number in range(300))
    assert set(drawn) == set(staff[1:])
    assert min(drawn.values()) > 60
    assert second_for("a1b2c3", staff[0], staff[:1]) is None


def test_learners_ask_no_instructor_and_unknown_codes_are_told(home: Home) -> None:
    """Only who teaches the course may; a learner is nobody to ask."""
    with repository(home) as repo:
        people = cast_of(repo)
        film = hand_in(repo, people["L-01"], 1)
        with pytest.raises(NotAllowed, match="ask instructors"):
            assign(repo, people["L-01"], [film], "I-02")
        with pytest.raises(NotFound, match="I-02"):
            assign(repo, people["I-01"], [film], "L-02")
        assert purposes(repo, film) == {}


def test_without_accounts_any_instructor_is_asked(tmp_path: Path) -> None:
    """On a machine without accounts there is no course and no share, and asking works all the same."""
    with repository(find_home(tmp_path / "home")) as repo:
        made.fill(repo)
        (asked,) = assign(repo, made.INSTRUCTOR, ["a1b2c3"], None)
        assert (asked.person_id, asked.purpose) == (made.INSTRUCTOR.id, Purpose.FIRST)
