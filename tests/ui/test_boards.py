"""Boards put together in a process beside: the same ones, refusals as they are, and one that ended is replaced."""

from __future__ import annotations

import json
import os
import signal
import time
from collections.abc import Iterator
from pathlib import Path
from uuid import uuid4

import psutil
import pytest

from review.actions.operations import apply
from review.domain.errors import NotAllowed, NotFound
from review.domain.model import Person, Role
from review.report.attempt import board
from review.store.database import open_database
from review.store.home import Home
from review.store.repository import repository
from tests.homes import learners_home
from tests.store.made import recording
from ui.boards import Boards, put_together

CLIENT = "b7b1c0de-0002"


@pytest.fixture
def film(tmp_path: Path) -> tuple[Home, Person]:
    """Make a home with a film of a learner, who marked a step."""
    home, learner = learners_home(tmp_path / "home")
    times = {"step": "eyes_open", "side": None, "onset_s": 1, "offset_s": 2.5}
    with repository(home) as repo:
        repo.add_recording(recording(checklist_id="balance_only", checklist_version=1, added_by=learner.id))
        apply(repo, learner, "a1b2c3", CLIENT, [{"op": "mark", "seq": 1, "mark_id": str(uuid4()), **times}])
    return home, learner


@pytest.fixture
def boards(film: tuple[Home, Person]) -> Iterator[Boards]:
    """Put boards of the home together beside."""
    made = Boards(film[0])
    yield made
    made.close()


def test_a_board_put_together_beside_is_that_put_together_here(film: tuple[Home, Person], boards: Boards) -> None:
    """Byte for byte, and what the report says; it tells what of a browser's operations is in it."""
    home, learner = film
    found = boards("a1b2c3", learner, CLIENT)
    assert found == put_together(home, open_database(home), "a1b2c3", learner, CLIENT)
    assert json.loads(found) == json.loads(json.dumps(board(home, "a1b2c3", learner, 1)))
    assert json.loads(boards("a1b2c3", learner, None))["ack"] == 0


def test_refusals_are_those_made_here(film: tuple[Home, Person], boards: Boards) -> None:
    """In kind and words: no film of that name, and one of another learner where people sign in."""
    home, learner = film
    stranger = Person("p-31", "L-31", Role.LEARNER, courses={})
    for kind, named, person in ((NotFound, "none", learner), (NotAllowed, "a1b2c3", stranger)):
        with pytest.raises(kind) as here:
            put_together(home, open_database(home), named, person, None)
        with pytest.raises(kind) as beside:
            boards(named, person, None)
        assert str(beside.value) == str(here.value)


def test_where_that_process_ended_another_answers(film: tuple[Home, Person], boards: Boards) -> None:
    """Whoever asked does not even hear of it; at the end none is left."""
    _, learner = film
    known = boards("a1b2c3", learner, CLIENT)
    for worker in boards._pool._processes:
        os.kill(worker, signal.SIGKILL)
    assert boards("a1b2c3", learner, CLIENT) == known
    working = list(boards._pool._processes)
    boards.close()
    patience = time.monotonic() + 20
    while any(map(psutil.pid_exists, working)) and time.monotonic() < patience:
        time.sleep(0.05)
    assert not any(map(psutil.pid_exists, working))
    boards.close()
