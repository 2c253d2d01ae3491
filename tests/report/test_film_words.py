from __future__ import annotations

from pathlib import Path

import pytest

from review.actions import checklists, marks, people
from review.domain.errors import NotFound
from review.domain.model import Person, Recording, Role
from review.report.film_words import film_words
from review.store.home import Home, find_home
from review.store.repository import repository
from review.store.trackstore import TrackStore
from tests.store.made import recording
from tests.synthetic import clock, standing, with_picture

DARK_FROM_S = 10.0


@pytest.fixture
def dusky(tmp_path: Path) -> tuple[Home, Recording, Person]:
    """Make a home with a film of 20 s whose second half is dark, and one step marked in each half."""
    home = find_home(tmp_path / "home")
    with repository(home) as repo:
        checklists.install_shipped(repo)
        learner = people.ensure(repo, "L-07", Role.LEARNER)
        film = recording(checklist_id="balance_only", checklist_version=1, added_by=learner.id, duration_s=20.0)
        repo.add_recording(film)
        marks.place(repo, learner, film, "eyes_open", None, 1.0, 8.0)
        marks.place(repo, learner, film, "eyes_closed", None, 12.0, 19.0)
    tracks = with_picture(standing(clock(20.0)))
    tracks["brightness"].values[tracks["time"].values >= DARK_FROM_S] = 0.02
    store = TrackStore(home, film.id)
    store.create(tracks)
    store.write(0, tracks, ("pose", "picture"))
    store.mark_done("all")
    return home, film, learner


def told(home: Home, film: Recording, learner: Person, step: str) -> list[bool]:
    """Tell whether the light is found wanting where a step lies, and in the film."""
    words = film_words(home, learner, film.id, step, None)
    return [any("dark" in fault["what"].lower() for fault in words[part]) for part in ("step", "film")]


def test_faults_are_those_of_the_steps_own_seconds(dusky: tuple[Home, Recording, Person]) -> None:
    """The dark half spoils the step that lies in it and not the other; the film as a whole is told of it either way."""
    assert told(*dusky, "eyes_open")[0] is False
    assert told(*dusky, "eyes_closed")[0] is True
    assert told(*dusky, "eyes_open")[1] == told(*dusky, "eyes_closed")[1]


def test_every_fault_has_its_advice(dusky: tuple[Home, Recording, Person]) -> None:
    """What is wrong comes with what to do next time; a step that nobody marked has none."""
    home, film, learner = dusky
    faults = film_words(home, learner, film.id, "eyes_closed", None)["step"]
    assert faults
    assert all(fault["advice"] for fault in faults)
    assert film_words(home, learner, film.id, "result", None)["step"] == []


def test_unknown_step_is_said(dusky: tuple[Home, Recording, Person]) -> None:
    """A step that the sheet does not have is not found."""
    home, film, learner = dusky
    with pytest.raises(NotFound):
        film_words(home, learner, film.id, "nowhere", None)
