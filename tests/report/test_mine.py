"""All of one person as one ZIP file: complete, in pieces, and no more than that person may see."""

from __future__ import annotations

import io
import json
import zipfile
from hashlib import sha256
from pathlib import Path

import pytest

from review.actions import comments, grades, marks, people, phrases, recordings
from review.actions.consents import note, withdraw
from review.domain.model import Person, Recording, Role
from review.domain.sharing import Audience
from review.domain.transcript import Word
from review.report.mine import pack
from review.store.home import Home
from review.store.repository import repository
from review.store.words import WordStore
from tests.films import even_times, make_film
from tests.homes import learners_home

FIRST, LATER = "Weight shifts to the left heel.", "Weight shifts to the right heel."
COVERED = "Hands were not ready."
PHRASE = "1f0e8b5e-52bb-4d6c-9d35-6e6f0c1b4d11"


@pytest.fixture
def kept(tmp_path: Path) -> tuple[Home, Person, Recording]:
    """Make a home in which L-07 said things, and an instructor did who is still covered."""
    home, learner = learners_home(tmp_path / "home", instructor="I-02")
    film = recordings.add(home, learner, make_film(tmp_path / "one.mp4", even_times(9)))
    note(home, learner, film.id, {Audience.PEERS}, partner="K.M.")
    with repository(home) as repo:
        teacher = people.ensure(repo, "I-02", Role.INSTRUCTOR)
        marks.place(repo, learner, film, "hand_hygiene", None, 0.1, 0.3)
        said = comments.write(repo, learner, film, 0.1, 0.2, FIRST, "hand_hygiene")
        comments.change(repo, learner, said.id, LATER)
        grades.give(repo, teacher, film, "hand_hygiene", None, "missed")
        comments.write(repo, teacher, film, 0.1, 0.2, COVERED, "hand_hygiene")
        phrases.keep(repo, learner, PHRASE, "Say the finding.")
    return home, learner, film


def _opened(home: Home, person: Person) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(b"".join(pack(home, person)))) as archive:
        assert archive.testzip() is None
        return {name: archive.read(name) for name in archive.namelist()}


def test_everything_of_mine_is_in_it(kept: tuple[Home, Person, Recording], tmp_path: Path) -> None:
    """The film as it came, tables, every revision of what was said, consents, phrases, and what is what."""
    home, learner, film = kept
    WordStore(home, film.id).put(0, 9, (Word("Hands", 0.1, 0.2, 0.9),))
    found = _opened(home, learner)
    folder = f"recordings/{film.id}"
    assert [word["text"] for word in json.loads(found[f"{folder}/words.json"])] == ["Hands"]
    assert sha256(found[f"{folder}/original.mp4"]).hexdigest() == film.sha256
    rows = json.loads(found["rows.json"])
    assert [one["text"] for one in rows["comments"]] == [FIRST, LATER]
    assert [one["text"] for one in rows["phrases"]] == ["Say the finding."]
    assert json.loads(found["person.json"]) == {"code": "L-07", "role": "learner", "courses": {}, "account": None}
    assert "K.M." in found[f"{folder}/consents.json"].decode()
    assert {f"{folder}/{name}.csv" for name in ("grades", "marks", "comments", "entries", "values")} <= set(found)
    assert LATER in found[f"{folder}/annotations.jsonld"].decode()
    assert "L-07" in found["README.txt"].decode()


def test_what_is_covered_is_not_in_it(kept: tuple[Home, Person, Recording]) -> None:
    """An instructor's words on a step that the learner has not graded are in no file."""
    assert COVERED not in b"".join(_opened(kept[0], kept[1]).values()).decode("utf-8", "replace")


def test_what_was_taken_back_is_not_in_it(kept: tuple[Home, Person, Recording]) -> None:
    """After the consent was taken back neither film nor words about it are given out, and the README says so."""
    home, learner, film = kept
    withdraw(home, learner, film.id)
    found = _opened(home, learner)
    assert [name for name in found if name.startswith("recordings/")] == []
    assert "comments" not in {name for name, rows in json.loads(found["rows.json"]).items() if rows}
    assert "are not here: 1" in " ".join(found["README.txt"].decode().split())


def test_a_consent_taken_back_on_the_way_stops_there(kept: tuple[Home, Person, Recording]) -> None:
    """Each recording is looked at again when it is its turn."""
    home, learner, film = kept
    pieces = pack(home, learner)
    begun = next(pieces)
    withdraw(home, learner, film.id)
    with zipfile.ZipFile(io.BytesIO(begun + b"".join(pieces))) as archive:
        assert not [name for name in archive.namelist() if name.startswith("recordings/")]
