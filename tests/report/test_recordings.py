"""The list of recordings: in parts, of one learner, and with as many queries however long it is."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

from review.actions import grades, marks
from review.domain.model import Person, Recording
from review.report.recordings import listed, newest, rows
from review.store.home import Home, find_home
from review.store.repository import Repository, reading, repository
from tests.counting import statements
from tests.store import made


def add(repo: Repository, number: int, person: Person = made.LEARNER) -> Recording:
    """Add a recording; each further one a day later."""
    film = made.recording(f"{number:02d}c2c3", added_by=person.id, added_at=made.WHEN + timedelta(days=number))
    repo.add_recording(film)
    return film


def home_of(root: Path, count: int) -> Home:
    """Make a home with one recording, and `count` more."""
    home = find_home(root / "home")
    with repository(home) as repo:
        made.fill(repo)
        for number in range(1, count + 1):
            add(repo, number, made.LEARNER if number % 2 else made.OTHER_LEARNER)
    return home


def test_the_newest_come_first_and_how_many_are_left_is_told(tmp_path: Path) -> None:
    """Of six recordings two are shown, the newest, with whose they are; four are left."""
    home = home_of(tmp_path, 5)
    with reading(home) as repo:
        told = listed(repo, made.INSTRUCTOR, most=2)
    assert [(one["id"], one["learner"]) for one in told["rows"]] == [("05c2c3", "L-07"), ("04c2c3", "L-12")]
    assert (told["more"], told["learners"]) == (4, ["L-07", "L-12"])
    first = newest(home, made.LEARNER)
    assert first is not None
    assert first.id == "05c2c3"
    assert len(rows(home, made.LEARNER)) == 6


def test_one_learners_are_asked_for(tmp_path: Path) -> None:
    """The other learner's two; a code of nobody who added any asks for all."""
    home = home_of(tmp_path, 5)
    with reading(home) as repo:
        theirs, everybodys = (listed(repo, made.INSTRUCTOR, learner=code)["rows"] for code in ("L-12", "X-99"))
    assert [one["id"] for one in theirs] == ["04c2c3", "02c2c3"]
    assert len(everybodys) == 6


def test_what_waits_is_told_from_what_is_marked_and_graded(tmp_path: Path) -> None:
    """A mark that was removed and a grade that was withdrawn count for nothing."""
    home = home_of(tmp_path, 0)
    with repository(home) as repo:
        film = repo.recording("a1b2c3")
        kept = marks.place(repo, made.LEARNER, film, "romberg", None, 1.0, 2.0)
        gone = marks.place(repo, made.LEARNER, film, "knee", "left", 3.0, 4.0)
        marks.remove(repo, made.LEARNER, gone.id)
        grades.give(repo, made.PEER, film, "romberg", None, "yes")
        grades.withdraw(repo, made.PEER, film, "romberg", None)
        assert kept.step_id == "romberg"
    (only,) = rows(home, made.LEARNER)
    assert only["waiting"] == ["2 of 3 steps not marked", "1 marked step not graded"]


def test_the_number_of_queries_does_not_grow_with_the_list(tmp_path: Path) -> None:
    """Eleven recordings are listed with as many statements as one."""
    home = home_of(tmp_path, 0)
    with statements() as before:
        rows(home, made.LEARNER)
    with repository(home) as repo:
        for number in range(1, 11):
            film = add(repo, number)
            marks.place(repo, made.LEARNER, film, "romberg", None, 1.0, 2.0)
    with statements() as after:
        assert len(rows(home, made.LEARNER)) == 11
    assert len(after) == len(before) <= 12
    with reading(home) as repo:
        assert repo.said_places().marked(["01c2c3", "none"]) == {"01c2c3": {("romberg", None)}, "none": set()}
