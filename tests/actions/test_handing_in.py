"""Handing in and asking a peer: one's own attempts only, and only as far as the examined person agreed."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from review.access import Deed, may
from review.actions import courses, handing_in, inviting
from review.domain.course import CourseRole
from review.domain.errors import EntryRefused, NotAllowed
from review.domain.model import Person, Recording
from review.domain.sharing import Audience, Bystanders, Consent
from review.store.home import Home, find_home
from review.store.repository import reading, repository
from tests.store import made


@pytest.fixture
def home(tmp_path: Path) -> Home:
    """Make a home with an attempt of L-07, whose fellow is L-20, and whose course I-02 owns."""
    place = find_home(tmp_path / "home")
    with repository(place) as repo:
        made.fill(repo)
        courses.start(repo, "balance", "Lab", "I-02", move=True)
        for code, role in (("L-20", CourseRole.LEARNER), ("I-03", CourseRole.INSTRUCTOR)):
            inviting.invite(repo, repo.person("I-02"), "balance", code, role)
    return place


def agree(home: Home, version: int = 1, **facts: object) -> None:
    """Note a consent."""
    with repository(home) as repo:
        repo.sharings().put_consent(made.consent(version, **facts))


def person(home: Home, code: str) -> Person:
    """Return a person."""
    with reading(home) as repo:
        return repo.person(code)


def seers(home: Home) -> set[str]:
    """Return the codes of all who may see the attempt."""
    with reading(home) as repo:
        film = repo.recording("a1b2c3")
        return {one.code for one in repo.people() if may(one, Deed.SEE, film)}


def test_handing_in_shows_it_to_instructors_and_taking_back_hides_it(home: Home) -> None:
    """Instructors and the owner of the course see it from then until it is taken back; handing in twice is once."""
    agree(home)
    assert seers(home) == {"L-07"}
    first = handing_in.hand_in(home, person(home, "L-07"), "a1b2c3")
    assert handing_in.hand_in(home, person(home, "L-07"), "a1b2c3").sharing.handed_in_at == first.sharing.handed_in_at
    assert seers(home) == {"L-07", "I-02", "I-03"}
    handing_in.take_back(home, person(home, "L-07"), "a1b2c3")
    assert seers(home) == {"L-07"}


def test_a_peer_who_is_asked_sees_that_attempt_until_no_longer_asked(home: Home) -> None:
    """The code counts in small letters too; who was never asked cannot be taken back."""
    agree(home)
    handing_in.ask_peer(home, person(home, "L-07"), "a1b2c3", "l-20")
    assert seers(home) == {"L-07", "L-20"}
    with pytest.raises(EntryRefused, match="not asked"):
        handing_in.take_peer_back(home, person(home, "L-07"), "a1b2c3", "I-03")
    handing_in.take_peer_back(home, person(home, "L-07"), "a1b2c3", "L-20")
    assert seers(home) == {"L-07"}


@pytest.mark.parametrize("code", ["L-07", "I-03", "L-12", "L-99", "", "x" * 500], ids=str)
def test_only_another_learner_of_the_course_can_be_asked(home: Home, code: str) -> None:
    """Not oneself, no instructor, nobody of elsewhere: all are told the same, so that codes cannot be tried."""
    agree(home)
    with pytest.raises(EntryRefused, match="no other learner of this course"):
        handing_in.ask_peer(home, person(home, "L-07"), "a1b2c3", code)


@pytest.mark.parametrize(
    ("consent", "words"),
    [
        (None, "not noted yet"),
        ({"audiences": frozenset()}, "did not agree"),
        ({"until": date(2026, 3, 2)}, "ended on 2026-03-02"),
        ({"bystanders": Bystanders.UNASKED}, "were not asked"),
    ],
    ids=["none", "narrow", "over", "bystanders"],
)
def test_without_consent_nothing_is_shown(home: Home, consent: dict[str, object] | None, words: str) -> None:
    """Each is refused with its reason, and nobody else sees the film."""
    if consent is not None:
        agree(home, **consent)
    for deed in (
        lambda: handing_in.hand_in(home, person(home, "L-07"), "a1b2c3"),
        lambda: handing_in.ask_peer(home, person(home, "L-07"), "a1b2c3", "L-20"),
    ):
        with pytest.raises(EntryRefused, match=words):
            deed()
    assert seers(home) == {"L-07"}


def test_agreed_to_peers_is_not_agreed_to_instructors(home: Home) -> None:
    """Each audience needs its own yes; after a withdrawal not even the learner shares."""
    agree(home, audiences=frozenset({Audience.PEERS}))
    handing_in.ask_peer(home, person(home, "L-07"), "a1b2c3", "L-20")
    with pytest.raises(EntryRefused, match="instructors of the course"):
        handing_in.hand_in(home, person(home, "L-07"), "a1b2c3")
    agree(home, 2, withdrawn=True)
    assert seers(home) == set()
    with pytest.raises(NotAllowed, match="took the consent back"):
        handing_in.ask_peer(home, person(home, "L-07"), "a1b2c3", "L-20")


DEEDS: list[Callable[[Home, Person], Recording]] = [
    lambda home, one: handing_in.hand_in(home, one, "a1b2c3"),
    lambda home, one: handing_in.take_back(home, one, "a1b2c3"),
    lambda home, one: handing_in.ask_peer(home, one, "a1b2c3", "L-20"),
    lambda home, one: handing_in.take_peer_back(home, one, "a1b2c3", "L-20"),
]


@pytest.mark.parametrize("deed", DEEDS, ids=["hand in", "take back", "ask", "no longer ask"])
def test_nobody_shares_what_is_anothers(home: Home, deed: Callable[[Home, Person], Recording]) -> None:
    """Not the owner of the course, not an instructor who sees it, not a peer."""
    agree(home)
    handing_in.hand_in(home, person(home, "L-07"), "a1b2c3")
    for code in ("I-02", "I-03", "L-20", "L-12"):
        with pytest.raises(NotAllowed):
            deed(home, person(home, code))


def test_on_a_machine_without_accounts_there_is_nobody_to_share_with(tmp_path: Path) -> None:
    """It is told, and nothing is stored."""
    home = find_home(tmp_path / "solo")
    with repository(home) as repo:
        made.fill(repo)
        repo.sharings().put_consent(made.consent())
    with pytest.raises(EntryRefused, match="no course"):
        handing_in.hand_in(home, person(home, "L-07"), "a1b2c3")
    kept: Consent | None = None
    with reading(home) as repo:
        kept = repo.recording("a1b2c3").sharing.consent
    assert kept is not None
