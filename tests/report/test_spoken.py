"""What the Review page says of findings that were heard."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from review.actions import checklists, grades, marks, people
from review.actions.uncovering import uncover
from review.domain.model import Person, Recording, Role
from review.domain.transcript import Word
from review.measures.spoken_finding import Spoken
from review.report import attempt
from review.report.spoken import spoken_words
from review.store.home import Home, find_home
from review.store.repository import repository
from review.store.words import WordStore
from tests.report.test_attempt import look, row
from tests.store.made import recording


def _words(text: str, at_s: float) -> tuple[Word, ...]:
    return tuple(
        Word(word, at_s + 0.4 * place, at_s + 0.4 * place + 0.3, 0.9) for place, word in enumerate(text.split())
    )


@pytest.fixture
def heard(tmp_path: Path) -> tuple[Home, Recording, Person, Person]:
    """Make a home in which a learner marked three steps and an instructor one, of a film with words."""
    home = find_home(tmp_path / "home")
    with repository(home) as repo:
        checklists.install_shipped(repo)
        learner = people.ensure(repo, "L-07", Role.LEARNER)
        instructor = people.ensure(repo, "I-02", Role.INSTRUCTOR)
        film = recording(checklist_id="balance_only", checklist_version=1, added_by=learner.id, duration_s=20.0)
        repo.add_recording(film)
        for step_id, onset, offset in (("position_guard", 1.0, 4.0), ("eyes_open", 8.0, 10.0), ("result", 12.0, 14.0)):
            marks.place(repo, learner, film, step_id, None, onset, offset)
        marks.place(repo, instructor, film, "position_guard", None, 1.0, 4.0)
        grades.give(repo, learner, film, "position_guard", None, "yes", confidence=2)
        uncover(repo, learner, film)
    look(home, film)
    return home, film, learner, instructor


def _row(home: Home, film: Recording, person: Person, key: str) -> Any:
    return row(attempt.board(home, film.id, person), key)


def test_nothing_is_said_where_nobody_listened(heard: tuple[Home, Recording, Person, Person]) -> None:
    """Without words a row says nothing of its finding: not heard would be untrue."""
    home, film, learner, _ = heard
    assert _row(home, film, learner, "position_guard|")["spoken"] is None


def test_heard_and_not_heard_are_told_with_their_moments(heard: tuple[Home, Recording, Person, Person]) -> None:
    """The finding in the step's seconds is told with its words; one outside of them is not this step's."""
    home, film, learner, _ = heard
    WordStore(home, film.id).put(0, 100, _words("feet together please.", 2.0))
    WordStore(home, film.id).put(100, 200, _words("so the rhomburg is negative", 13.0))
    together = _row(home, film, learner, "position_guard|")["spoken"]
    assert (together["verdict"], together["sure"]) == ("said", True)
    assert together["words"] == "finding heard: \u201cfeet together please\u201d at 0:02 (sure)"
    assert together["at"] == pytest.approx(2.0)
    assert _row(home, film, learner, "eyes_open|")["spoken"]["words"] == "finding not heard"
    result = _row(home, film, learner, "result|")["spoken"]
    assert result["words"] == "finding heard: \u201crhomburg is negative\u201d at 0:13 (sure)"


def test_words_are_not_asked_for_row_by_row(
    heard: tuple[Home, Recording, Person, Person], monkeypatch: pytest.MonkeyPatch
) -> None:
    """However many rows a page has, it is looked up whether the words changed for findings once, for proposals once."""
    home, film, learner, _ = heard
    WordStore(home, film.id).put(0, 100, _words("feet together please.", 2.0))
    asked: list[str] = []
    known = WordStore.version
    monkeypatch.setattr(WordStore, "version", lambda store: (asked.append(known(store)), asked[-1])[1])
    board = attempt.board(home, film.id, learner)
    assert row(board, "position_guard|")["spoken"]["verdict"] == "said"
    assert len(asked) == 2


def test_words_of_another_listening_take_the_place_of_the_first(heard: tuple[Home, Recording, Person, Person]) -> None:
    """A stretch that is listened to anew is told anew, with no word twice."""
    home, film, learner, _ = heard
    store = WordStore(home, film.id)
    store.put(0, 100, _words("feet together please.", 2.0))
    assert _row(home, film, learner, "position_guard|")["spoken"]["verdict"] == "said"
    store.put(0, 120, _words("feet apart please.", 2.0))
    assert store.transcript() == _words("feet apart please.", 2.0)
    assert _row(home, film, learner, "position_guard|")["spoken"]["verdict"] == "not heard"


def test_what_was_heard_is_covered_like_estimates(heard: tuple[Home, Recording, Person, Person]) -> None:
    """Who has not graded is told that there is something, and nothing of it."""
    home, film, _, instructor = heard
    WordStore(home, film.id).put(0, 100, _words("feet together please.", 2.0))
    mine = _row(home, film, instructor, "position_guard|")
    assert mine["covered"]
    assert mine["spoken"] is None
    assert mine["covers"]["values"]
    with repository(home) as repo:
        uncover(repo, instructor, film)
    assert _row(home, film, instructor, "position_guard|")["spoken"]["verdict"] == "said"


def test_words_for_each_verdict(heard: tuple[Home, Recording, Person, Person]) -> None:
    """Another value is told with the value, an unclear one as unclear, and not heard as that alone."""
    home, film, learner, _ = heard
    WordStore(home, film.id).put(0, 100, _words("eyes open. unsteady with eyes open", 8.0))
    other = _row(home, film, learner, "eyes_open|")["spoken"]
    assert other["verdict"] == "other"
    assert other["words"].startswith("other value heard, unsteady: \u201cunsteady with eyes open\u201d at 0:08")
    assert spoken_words(Spoken("not heard")) == "finding not heard"
