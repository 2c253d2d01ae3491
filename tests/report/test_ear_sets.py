"""What the Review page says of the sets that both ears were whispered."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from review.actions import checklists, grades, marks, people
from review.actions.uncovering import uncover
from review.domain.model import Interval, Person, Recording, Role
from review.domain.transcript import Word
from review.report import attempt
from review.report.ear_sets import ear_sets_json
from review.store.home import Home, find_home
from review.store.repository import repository
from review.store.words import WordStore
from tests.report.test_attempt import look, row
from tests.store.made import recording

STEP = "cn8_whisper"


def _words(text: str, at_s: float) -> tuple[Word, ...]:
    return tuple(Word(word, at_s + at / 2, at_s + at / 2 + 0.4, 0.9) for at, word in enumerate(text.split()))


@pytest.fixture
def heard(tmp_path: Path) -> tuple[Home, Recording, Person, Person]:
    """Make a home in which a learner marked the whispered test of the right ear, and an instructor looks as well."""
    home = find_home(tmp_path / "home")
    with repository(home) as repo:
        checklists.install_shipped(repo)
        learner = people.ensure(repo, "L-07", Role.LEARNER)
        instructor = people.ensure(repo, "I-02", Role.INSTRUCTOR)
        version = repo.checklist("neuro_screening").version
        film = recording(
            checklist_id="neuro_screening", checklist_version=version, added_by=learner.id, duration_s=40.0
        )
        repo.add_recording(film)
        marks.place(repo, learner, film, STEP, "right", 1.0, 10.0)
        marks.place(repo, learner, film, "cn8_weber", None, 30.0, 35.0)
        grades.give(repo, learner, film, STEP, "right", "full", confidence=2)
        uncover(repo, learner, film)
    look(home, film)
    return home, film, learner, instructor


def _sets(home: Home, film: Recording, person: Person, key: str = f"{STEP}|left") -> Any:
    return row(attempt.board(home, film.id, person), key)["ear_sets"]


def test_both_ears_are_told_once_both_are_marked(heard: tuple[Home, Recording, Person, Person]) -> None:
    """One ear alone, or nothing listened to, says nothing; other steps never do; who has not graded sees nothing."""
    home, film, learner, instructor = heard
    with repository(home) as repo:
        marks.place(repo, learner, film, STEP, "left", 12.0, 20.0)
    assert _sets(home, film, learner) is None
    WordStore(home, film.id).put(0, 600, (*_words("four K two", 3.0), *_words("7 B 9", 14.0)))
    words = "heard for the right ear: 4 K 2; for the left ear: 7 B 9"
    assert _sets(home, film, learner) == {"verdict": "different", "sign": "different sets", "words": words}
    assert _sets(home, film, learner, f"{STEP}|right") == _sets(home, film, learner)
    assert _sets(home, film, learner, "cn8_weber|") is None
    assert _sets(home, film, instructor) is None


def test_one_ear_alone_says_nothing(heard: tuple[Home, Recording, Person, Person]) -> None:
    """There is nothing to compare the right ear with."""
    home, film, learner, _ = heard
    WordStore(home, film.id).put(0, 600, _words("four K two", 3.0))
    assert _sets(home, film, learner, f"{STEP}|right") is None


def test_words_belong_to_the_seconds_they_are_said_in() -> None:
    """The set before the second mark begins is not that ear's."""
    words = (*_words("four K two", 3.0), *_words("four K two", 11.0))
    found = ear_sets_json(words, Interval(2.0, 6.0), Interval(15.0, 20.0))
    assert found["words"] == "heard for the right ear: 4 K 2; for the left ear: no set"
    assert found["verdict"] == "unclear"
