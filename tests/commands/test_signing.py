"""Signing an attempt from the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from sqlalchemy import text

from review.__main__ import main
from review.actions import grades
from review.domain.model import Recording
from review.store.database import open_database
from review.store.home import Home
from review.store.repository import repository
from tests.graded import STEPS, furnish


@pytest.fixture
def attempt(tmp_path: Path) -> tuple[Home, Recording]:
    """Make a home with graded attempts, of which I-02 has graded the first in full, and finds steps missing."""
    home, _, films = furnish(tmp_path / "home")
    return home, films[0]


def run(home: Home, *words: str) -> int:
    """Run the command as the instructor I-02."""
    return main(["sign-off", *words, "--home", str(home.root), "--as", "I-02"])


def test_an_attempt_is_signed_listed_and_taken_back(
    attempt: tuple[Home, Recording], capsys: pytest.CaptureFixture[str]
) -> None:
    """Against the sheet's rule it is refused with reasons, with the why it is signed; a change of a grade is told."""
    home, film = attempt
    assert run(home, film.id) == 0
    assert "Nothing is signed yet." in capsys.readouterr().out
    assert run(home, film.id, "--result", "passed") == 2
    assert "By the sheet's own rule your grades come to: not passed." in capsys.readouterr().err
    assert run(home, film.id, "--result", "passed-with-conditions", "--conditions", "Guard again by 16 March.") == 0
    told = capsys.readouterr().out
    assert "passed with conditions  I-02" in told
    assert "The version is as it was signed." in told
    with repository(home) as repo:
        grades.give(repo, repo.person("I-02"), film, STEPS[0], None, "yes", confidence=3)
    assert run(home, film.id, "--json") == 0
    listed = json.loads(capsys.readouterr().out)
    assert (listed["changed"], len(listed["changes"]), listed["faults"]) == (True, 1, [])
    assert "not yet when it was signed, yes now." in listed["changes"][0]
    assert run(home, film.id, "--take-back", "Wrong attempt.") == 0
    assert "taken back" in capsys.readouterr().out


def test_a_version_that_was_changed_behind_its_back_is_told(
    attempt: tuple[Home, Recording], capsys: pytest.CaptureFixture[str]
) -> None:
    """Whoever writes another result into the database is found out, with exit code 1."""
    home, film = attempt
    assert run(home, film.id, "--result", "not-passed") == 0
    assert run(home, film.id, "--verify") == 0
    with open_database(home).transaction() as session:
        session.execute(text("UPDATE sign_offs SET statement = replace(statement, 'not_passed', 'passed')"))
    capsys.readouterr()
    assert run(home, film.id, "--verify") == 1
    assert "Version 1 is not as it was signed" in capsys.readouterr().err


def test_conditions_alone_are_refused(attempt: tuple[Home, Recording], capsys: pytest.CaptureFixture[str]) -> None:
    """Conditions belong to a result."""
    assert run(attempt[0], attempt[1].id, "--conditions", "Guard.") == 2
    assert "came without --result" in capsys.readouterr().err
