"""Exemplars: who attaches them, to what, and that they go with the film they are cut from."""

from __future__ import annotations

import math
from uuid import uuid4

import pytest

from review.actions import exemplars
from review.domain.errors import EntryRefused, NotAllowed, NotFound
from review.domain.model import Interval, Person
from review.report import beside
from review.store.repository import Repository
from tests.store import made

RECORDING = made.recording()
OTHER = made.recording("b1", name="done well.mp4", duration_s=9.0)
NAME = str(uuid4())


@pytest.fixture
def films(repo: Repository) -> Repository:
    """Open a transaction on a database with a second film of 9 s."""
    repo.add_recording(OTHER)
    return repo


def _attach(repo: Repository, person: Person = made.INSTRUCTOR, ends: tuple[float, float] = (2.0, 8.0)) -> None:
    exemplars.attach(repo, person, RECORDING, NAME, "knee", "left", OTHER, *ends)


def test_a_stretch_of_any_recording_shows_a_step(films: Repository) -> None:
    """The exemplar belongs to the sheet's step and side, and says which film it is a stretch of, and where that is."""
    _attach(films)
    people = {person.id: person for person in made.PEOPLE}
    sheet = films.checklist("short_sheet")
    (shown,) = beside.exemplars(films, sheet, people, made.LEARNER)
    assert (shown["step"], shown["side"], shown["recording"], shown["name"]) == ("knee", "left", "b1", "done well.mp4")
    assert (shown["onset_s"], shown["offset_s"], shown["person"], shown["mine"]) == (2.0, 8.0, "I-01", False)
    assert (shown["src"], shown["times"]) == ("/api/media/b1", "/api/times/b1")


def test_an_exemplar_is_moved_by_its_id(films: Repository) -> None:
    """Attached again under its id it lies elsewhere, and is still one."""
    _attach(films)
    _attach(films, ends=(3.0, 4.5))
    assert [one.interval for one in films.exemplars().of_checklist("short_sheet")] == [Interval(3.0, 4.5)]


@pytest.mark.parametrize("person", [made.LEARNER, made.PEER], ids=["learner", "peer"])
def test_only_instructors_attach_and_detach(films: Repository, person: Person) -> None:
    """Others see exemplars and leave them alone."""
    with pytest.raises(NotAllowed, match="may not attach an exemplar: that is for: instructor"):
        _attach(films, person)
    _attach(films)
    with pytest.raises(NotAllowed):
        exemplars.detach(films, person, NAME)


def test_another_instructors_exemplar_stays(films: Repository) -> None:
    """Neither moved nor detached by anybody but who attached it."""
    other = Person("p-second", "I-02", made.INSTRUCTOR.role)
    films.put_person(other)
    _attach(films)
    with pytest.raises(NotAllowed):
        _attach(films, other)
    with pytest.raises(NotAllowed):
        exemplars.detach(films, other, NAME)
    exemplars.detach(films, made.INSTRUCTOR, NAME)
    with pytest.raises(NotFound):
        exemplars.detach(films, made.INSTRUCTOR, NAME)


@pytest.mark.parametrize(
    ("ends", "words"),
    [
        ((2.0, 9.5), "end is 9.5 s"),
        ((math.nan, 3.0), "start is nan s"),
        ((4.0, 4.0), "without length"),
        ((4.0, 3.0), "an end not before the start"),
    ],
    ids=["behind", "nan", "empty", "turned round"],
)
def test_the_stretch_lies_in_its_own_film(films: Repository, ends: tuple[float, float], words: str) -> None:
    """Times are those of the film it is cut from, here 9 s long, not of the one under review."""
    with pytest.raises(EntryRefused, match=words):
        _attach(films, ends=ends)
    assert films.exemplars().of_checklist("short_sheet") == ()


def test_erasing_a_film_takes_its_exemplars_and_uncoverings_along(films: Repository) -> None:
    """Exemplars go with the film they show, and stay when the film they were attached from goes."""
    _attach(films)
    films.erase_recording(RECORDING.id)
    assert [one.id for one in films.exemplars().cut_from(OTHER.id)] == [NAME]
    films.erase_recording(OTHER.id)
    assert films.exemplars().of_checklist("short_sheet") == ()
