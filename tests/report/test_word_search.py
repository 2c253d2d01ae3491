"""Words sought in all films: found however they are written, only in films that one may see, gone with the film."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from review.actions import people
from review.actions.captions import correct
from review.actions.consents import withdraw
from review.actions.erasing import erase
from review.domain.model import Person, Recording, Role
from review.domain.transcript import Word
from review.report.word_search import find_words
from review.store.home import Home, find_home
from review.store.repository import repository
from review.store.words import WordStore
from tests.store.made import recording

SAID = {
    "a": "Cranial nerve VII. / No nystagmus. / Caf\u00e9 au lait.",
    "b": "Romberg negative. / Biceps 2+ / on the right. / No sway,",
}


@pytest.fixture(scope="module")
def said(tmp_path_factory: pytest.TempPathFactory) -> tuple[Home, Person, dict[str, Recording]]:
    """Make a home with two films, of two learners, that were listened to."""
    home = find_home(tmp_path_factory.mktemp("sought") / "home")
    films = {}
    with repository(home) as repo:
        learner, other = people.ensure(repo, "L-07", Role.LEARNER), people.ensure(repo, "L-12", Role.LEARNER)
        for day, (name, by) in enumerate((("a", learner), ("b", other)), 1):
            made = recording(added_by=by.id, duration_s=60.0, checklist_id=None, checklist_version=None)
            added = datetime(2026, 3, day, tzinfo=UTC)
            films[name] = replace(made, id=name * 32, sha256=name * 64, name=f"Film {name}", added_at=added)
            repo.add_recording(films[name])
    for name, text in SAID.items():
        words = [Word(word, at, at + 0.4, 0.9) for at, word in enumerate(text.split()) if word != "/"]
        spoken = [replace(word, onset_s=word.onset_s * 0.8, offset_s=word.onset_s * 0.8 + 0.4) for word in words]
        WordStore(home, films[name].id).put(0, 1800, tuple(spoken))
    return home, learner, films


def found(home: Home, person: Person, wanted: str, learner: str | None = None) -> list[tuple[str, list[str]]]:
    """Return film and lines of each hit."""
    hits = find_words(home, person, wanted, learner)["hits"]
    return [(hit["name"], [line["text"] for line in hit["lines"]]) for hit in hits]


@pytest.mark.parametrize(
    ("wanted", "lines"),
    [
        ("nerve 7", [("Film a", ["Cranial nerve VII."])]),
        ("NYSTAG", [("Film a", ["No nystagmus."])]),
        ("cafe", [("Film a", ["Caf\u00e9 au lait."])]),
        ("biceps two plus", [("Film b", ["Biceps 2+"])]),
        ("right biceps", [("Film b", ["Biceps 2+", "on the right."])]),
        ("romberg right", []),
        ("no", [("Film b", ["No sway,"]), ("Film a", ["No nystagmus."])]),
        ("   ", []),
        (". -", []),
    ],
)
def test_what_is_found(said: tuple[Home, Person, dict[str, Recording]], wanted: str, lines: object) -> None:
    """All words in one caption or two neighbours; the film added last first; short words whole."""
    home, learner, _ = said
    assert found(home, learner, wanted) == lines


def test_a_correction_is_found_at_once_and_what_it_replaced_no_more(
    said: tuple[Home, Person, dict[str, Recording]],
) -> None:
    """The words that stand are searched."""
    home, learner, films = said
    (hit,) = find_words(home, learner, "romberg")["hits"]
    assert (hit["learner"], hit["attempt"], hit["lines"][0]["places"]) == ("L-12", films["b"].attempt, [[0, 7]])
    onset_s = hit["onset_s"]
    with repository(home) as repo:
        name = "5f0c1f9e-0000-4000-8000-000000000001"
        correct(repo, learner, films["b"].id, name, 0, (onset_s, onset_s + 1.3), "Rhomboid stretched.")
    assert found(home, learner, "romberg") == []
    assert found(home, learner, "rhomboid") == [("Film b", ["Rhomboid stretched."])]


def test_films_that_one_may_not_see_are_gone_at_once(said: tuple[Home, Person, dict[str, Recording]]) -> None:
    """After the consent is taken back, and after the film is erased; nor are others' where one asks for one's own."""
    home, learner, films = said
    assert [name for name, _ in found(home, learner, "no")] == ["Film b", "Film a"]
    assert [name for name, _ in found(home, learner, "no", "L-07")] == ["Film a"]
    withdraw(home, learner, films["a"].id)
    assert [name for name, _ in found(home, learner, "no")] == ["Film b"]
    erase(home, learner, films["b"].id)
    assert find_words(home, learner, "no") == {"count": 0, "films": 0, "listened": 0, "hits": []}
