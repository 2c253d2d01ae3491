"""Where steps are proposed to whom: not twice, not what was refused, without reasons while covered, and why not."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest

from review.actions import checklists, marks, people, proposals
from review.actions.listening import leave_words_out
from review.actions.uncovering import uncover
from review.domain.model import Interval, Person, Recording, Role
from review.domain.proposal import Proposal
from review.domain.transcript import Word
from review.exchange import timed_text
from review.report import attempt, proposed
from review.report.told import said, told
from review.store.home import Home, find_home
from review.store.repository import repository
from review.store.rows import Job
from review.store.words import WordStore
from tests.store.made import recording

FIRST = Proposal("position_guard", None, Interval(1.0, 4.0), 0.93, ("heard \u201cfeet together\u201d at 0:02",))
SECOND = Proposal("eyes_open", None, Interval(8.0, 25.0), 0.61, ("heard \u201ceyes open\u201d at 0:09",))


@dataclass
class Case:
    """A home with an analysed film of 20 s, whose first pass proposed two steps."""

    home: Home
    film: Recording
    learner: Person
    instructor: Person

    def asked(self, person: Person | None = None) -> dict[str, Any]:
        """Return what is proposed to a person."""
        return proposed.proposed(self.home, person or self.learner, self.film.id)

    def state(self, person: Person | None = None) -> str:
        """Return the text that changes with it, as the board gives it out."""
        found: str = attempt.board(self.home, self.film.id, person or self.learner)["proposed"]
        return found

    def steps(self, person: Person | None = None) -> list[str]:
        """Return of which steps there are proposals."""
        return [one["step"] for one in self.asked(person)["proposals"]]

    def heard(self, stop: int) -> None:
        """Say that the film was listened to until a frame, and nothing was said in it."""
        WordStore(self.home, self.film.id).put(0, stop, ())

    def analysed(self, state: str) -> None:
        """Say how far the analysis is."""
        with repository(self.home) as repo:
            repo.put_job(Job(self.film.id, state, 600, 600, "", datetime.now(UTC)))  # type: ignore[arg-type]


@pytest.fixture
def case(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Case:
    """Make the home; what the first pass itself finds is tested beside it."""
    home = find_home(tmp_path / "home")
    with repository(home) as repo:
        checklists.install_shipped(repo)
        learner = people.ensure(repo, "L-07", Role.LEARNER)
        instructor = people.ensure(repo, "I-02", Role.INSTRUCTOR)
        film = recording(checklist_id="balance_only", checklist_version=1, added_by=learner.id, duration_s=20.0)
        repo.add_recording(film)
    made = Case(home, film, learner, instructor)
    made.analysed("done")
    monkeypatch.setattr(proposed, "proposals_of", lambda *_: (FIRST, SECOND))
    return made


def test_what_is_proposed_is_told_in_words_and_within_the_film(case: Case) -> None:
    """Confidence comes in words and percent; the seconds end with the film; reasons are covered: blind first."""
    first, second = case.asked()["proposals"]
    assert first == {
        "id": FIRST.key, "step": "position_guard", "side": None, "onset_s": 1.0, "offset_s": 4.0,
        "sure": True, "words": "about 9 in 10 right (93 %)", "reasons": [],
    }  # fmt: skip
    assert (second["sure"], second["offset_s"]) == (False, 20.0)
    assert case.asked()["said"] == ""


def test_reasons_come_once_the_step_is_uncovered(case: Case) -> None:
    """They come for the step and the person that uncovered it, and the page is told to ask anew."""
    before = case.state()
    with repository(case.home) as repo:
        uncover(repo, case.learner, case.film, "eyes_open")
    first, second = case.asked()["proposals"]
    assert (first["reasons"], second["reasons"]) == ([], ["heard \u201ceyes open\u201d at 0:09"])
    assert [one["reasons"] for one in case.asked(case.instructor)["proposals"]] == [[], []]
    assert case.state() != before


def test_what_was_marked_or_refused_is_not_proposed_to_that_person(case: Case) -> None:
    """Marks and refusals of one leave the proposals of another alone; taken back, both are proposed again."""
    states = [case.state()]
    name = str(uuid4())
    with repository(case.home) as repo:
        proposals.refuse(repo, case.learner, case.film, name, "position_guard", None, 1.0, 4.0)
    states.append(case.state())
    assert case.steps() == ["eyes_open"]
    assert [one["id"] for one in attempt.board(case.home, case.film.id, case.learner)["refusals"]] == [name]
    with repository(case.home) as repo:
        taken = marks.place(repo, case.learner, case.film, "eyes_open", None, 8.0, 20.0)
    states.append(case.state())
    assert case.asked() == {"proposals": [], "said": proposed.ALL_DONE}
    assert case.steps(case.instructor) == ["position_guard", "eyes_open"]
    assert attempt.board(case.home, case.film.id, case.instructor)["refusals"] == []
    with repository(case.home) as repo:
        marks.remove(repo, case.learner, taken.id)
        proposals.take_back(repo, case.learner, name)
    assert case.steps() == ["position_guard", "eyes_open"]
    assert len(set(states)) == 3


def test_a_refusal_outlives_proposals_computed_anew(case: Case, monkeypatch: pytest.MonkeyPatch) -> None:
    """A later proposal of mostly the same seconds stays away, one elsewhere comes."""
    with repository(case.home) as repo:
        proposals.refuse(repo, case.learner, case.film, str(uuid4()), "position_guard", None, 1.0, 4.0)
    near = Proposal("position_guard", None, Interval(1.8, 5.0), 0.99)
    far = Proposal("position_guard", None, Interval(12.0, 15.0), 0.5)
    monkeypatch.setattr(proposed, "proposals_of", lambda *_: (near, far))
    assert [one["onset_s"] for one in case.asked()["proposals"]] == [12.0]


def test_why_nothing_is_proposed_is_one_sentence(case: Case, monkeypatch: pytest.MonkeyPatch) -> None:
    """Not yet, nothing found, nothing listened to, words left out: each is told apart."""
    case.analysed("waiting")
    assert case.asked() == {"proposals": [], "said": proposed.LATER}
    case.heard(case.film.frames)
    monkeypatch.setattr(proposed, "proposals_of", lambda *_: ())
    assert case.asked()["said"] == proposed.NOT_YET
    case.analysed("stopped")
    monkeypatch.setattr(proposed, "proposals_of", lambda *_: (FIRST, SECOND))
    assert len(case.steps()) == 2
    monkeypatch.setattr(proposed, "proposals_of", lambda *_: ())
    assert case.asked()["said"] == proposed.NOTHING
    monkeypatch.setattr(proposed, "proposals_of", lambda *_: None)
    assert case.asked()["said"] == proposed.UNHEARD
    leave_words_out(case.home)
    assert case.asked()["said"] == proposed.LEFT_OUT


@pytest.mark.parametrize(
    ("film", "said"), [({"has_sound": False}, proposed.SILENT), ({"slow_motion": 4.0}, proposed.UNHEARD)]
)
def test_nobody_waits_for_words_that_never_come(case: Case, film: dict[str, Any], said: str) -> None:
    """Of a film without sound, or slowed down, the reason is told before it was looked at; so it is without words."""
    with repository(case.home) as repo:
        repo.add_recording(replace(case.film, id="other", sha256="0" * 64, **film))
        repo.put_job(Job("other", "waiting", 0, 600, "", datetime.now(UTC)))
    assert proposed.proposed(case.home, case.learner, "other")["said"] == said
    case.analysed("waiting")
    leave_words_out(case.home)
    assert case.asked()["said"] == proposed.LEFT_OUT


def test_steps_are_proposed_as_soon_as_all_was_listened_to(case: Case) -> None:
    """Nobody waits for what is looked at; parts of the talk propose nothing, and the page is told when to ask."""
    case.analysed("waiting")
    case.heard(case.film.frames - 1)
    assert case.asked() == {"proposals": [], "said": proposed.LATER}
    before = case.state()
    case.heard(case.film.frames)
    assert case.steps() == ["position_guard", "eyes_open"]
    assert case.state() != before
    before = case.state()
    case.analysed("done")
    assert case.steps() == ["position_guard", "eyes_open"]
    assert case.state() != before


def test_words_change_what_the_page_asks_by(case: Case) -> None:
    """The board itself computes no proposal: it gives out a text that changes, and the page asks when it does."""
    before = case.state()
    WordStore(case.home, case.film.id).put(0, 100, (Word("feet", 2.0, 2.3, 0.9),))
    assert case.state() != before
    assert case.state() == case.state()


def test_proposals_are_in_no_file(case: Case) -> None:
    """Nothing becomes a mark by itself: neither in the store nor in files."""
    assert len(case.steps()) == 2
    assert attempt.board(case.home, case.film.id, case.learner)["marks"] == []
    gathered = told(case.home, case.learner, case.film)
    assert gathered.marks == ()
    assert timed_text.metadata_track(said(gathered)).count("-->") == 0
