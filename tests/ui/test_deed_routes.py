"""Operations are stored by our own route: once, in order, for who is named, and a refusal is one sentence."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest

from review.actions import people
from review.domain.model import Person, Role
from review.store.home import Home
from review.store.repository import reading, repository
from tests.access.asking import ask
from tests.answers import Told
from tests.homes import learners_home
from tests.store.made import recording
from ui.answering import MOST_SAID

CLIENT = "b7b1c0de-0001"
STEPS = ("eyes_open", "eyes_closed")


@pytest.fixture
def film(tmp_path: Path) -> tuple[Home, Person]:
    """Make a home with a film of a learner."""
    home, learner = learners_home(tmp_path / "home")
    with repository(home) as repo:
        people.ensure(repo, "I-02", Role.INSTRUCTOR)
        repo.add_recording(recording(checklist_id="balance_only", checklist_version=1, added_by=learner.id))
    return home, learner


def _sent(home: Home, body: Any, code: str = "L-07", named: str = "a1b2c3") -> Told:
    content = body if isinstance(body, bytes) else json.dumps(body).encode()
    return ask(home, "POST", f"/api/deeds/{named}?as={code}", body=content)


def _said(told: Told) -> Mapping[str, Any]:
    found: Mapping[str, Any] = json.loads(told.body)
    return found


def _mark(seq: int, **fields: object) -> dict[str, object]:
    usual = {"op": "mark", "mark_id": str(uuid4()), "step": "eyes_open", "side": None, "onset_s": 1, "offset_s": 2.5}
    return {"seq": seq, **usual, **fields}


def test_what_was_answered_is_stored_and_stored_once(film: tuple[Home, Person]) -> None:
    """The number of the last one comes back; sent again nothing is done twice, and what is new behind it is."""
    home, learner = film
    first, second = _mark(1), _mark(2, step="eyes_closed")
    told = _sent(home, {"client": CLIENT, "ops": [first]})
    assert (told.status, _said(told)) == (200, {"client": CLIENT, "ack": 1, "faults": []})
    assert _said(_sent(home, {"client": CLIENT, "ops": [first, second]}))["ack"] == 2
    with reading(home) as repo:
        found = repo.marks("a1b2c3")
    assert [(one.step_id, one.person_id) for one in found] == [(place, learner.id) for place in STEPS]


def test_a_fault_is_told_with_its_number_and_what_is_behind_it_is_stored(film: tuple[Home, Person]) -> None:
    """An operation that cannot be done counts as handled."""
    home, _ = film
    told = _said(_sent(home, {"client": CLIENT, "ops": [_mark(1, step="no such step"), _mark(2)]}))
    assert (told["ack"], [fault["seq"] for fault in told["faults"]]) == (2, [1])
    with reading(home) as repo:
        assert [one.step_id for one in repo.marks("a1b2c3")] == ["eyes_open"]


def test_it_is_stored_for_who_is_named(film: tuple[Home, Person]) -> None:
    """On a machine without accounts each person has a code; nobody's deeds are kept as another's."""
    home, _ = film
    assert _said(_sent(home, {"client": CLIENT, "ops": [_mark(1)]}, code="I-02"))["ack"] == 1
    assert _sent(home, {"client": "b7b1c0de-0002", "ops": [_mark(1)]}, code="L-99").status == 404
    with reading(home) as repo:
        assert [one.person_id for one in repo.marks("a1b2c3")] == [repo.person("I-02").id]


@pytest.mark.parametrize(
    ("body", "said"),
    [
        (b"{", "A JSON object was expected."),
        (b"[]", "A JSON object was expected."),
        ({"ops": []}, "A browser's id is 8 to 64"),
        ({"client": 7, "ops": []}, "A browser's id is 8 to 64"),
        ({"client": CLIENT, "ops": {"seq": 1}}, "A queue came as dict"),
    ],
)
def test_what_is_no_queue_is_refused_in_one_sentence(film: tuple[Home, Person], body: Any, said: str) -> None:
    """Nothing is stored."""
    told = _sent(film[0], body)
    assert told.status == 422
    assert said in _said(told)["message"]


def test_a_recording_that_is_not_there_is_named(film: tuple[Home, Person]) -> None:
    """Erased meanwhile, for instance: 404, for the page to close."""
    assert _sent(film[0], {"client": CLIENT, "ops": [_mark(1)]}, named="ffffff").status == 404


def test_more_than_a_page_says_is_not_held(film: tuple[Home, Person]) -> None:
    """A body without end is refused once it is too long, here and wherever pages say something."""
    told = _sent(film[0], b"[" * (MOST_SAID + 1))
    assert told.status == 422
    assert "More than 4 MiB came at once" in _said(told)["message"]
    assert ask(film[0], "POST", "/api/share/a1b2c3?as=L-07", body=b"[" * (MOST_SAID + 1)).status == 422


def test_the_board_says_how_far_a_browser_s_operations_are_in_it(film: tuple[Home, Person]) -> None:
    """What was answered as stored is on the next board, which is later than the one before."""
    home, _ = film
    where = "/api/board/a1b2c3?as=L-07&client="
    before = json.loads(ask(home, "GET", where + CLIENT).body)
    assert (before["client"], before["ack"], before["marks"], before["me"]["code"]) == (CLIENT, 0, [], "L-07")
    _sent(home, {"client": CLIENT, "ops": [_mark(1), _mark(2, step="eyes_closed")]})
    after = json.loads(ask(home, "GET", where + CLIENT).body)
    assert (after["ack"], sorted(one["step"] for one in after["marks"])) == (2, ["eyes_closed", "eyes_open"])
    assert after["at"] > before["at"]
    assert json.loads(ask(home, "GET", where + "b7b1c0de-0002").body)["ack"] == 0
    assert {one["code"] for one in after["people"]} == {"L-07", "I-02"}
    assert ask(home, "GET", where.replace("L-07", "L-99") + CLIENT).status == 404
