"""Consent of the examined person: noted in versions, taken back at once, and what it covers."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from uuid import uuid4

import pytest

from review.access import Deed, may
from review.actions import consents, exemplars, people, recordings
from review.actions.consents import note, read_terms, terms_of, withdraw
from review.domain.course import Course, CourseRole, Membership
from review.domain.errors import EntryRefused, NotAllowed
from review.domain.model import Person, Recording, Role
from review.domain.sharing import Audience, Bystanders, Sharing
from review.report.consents import consent_told, consent_words, noted, taken_back, unconsented
from review.report.exports import EXPORTS, export
from review.report.recordings import rows
from review.report.values import values_of
from review.store.home import Home
from review.store.repository import reading, repository
from tests.films import even_times, make_film
from tests.homes import learners_home
from tests.store import made

TODAY = datetime.now(UTC).date()
PEERS = frozenset({Audience.PEERS})


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Write a short film."""
    return make_film(tmp_path_factory.mktemp("film") / "attempt.mp4", even_times(9))


@pytest.fixture
def kept(tmp_path: Path, film: Path) -> tuple[Home, Person, Recording]:
    """Make a home without accounts, a learner, and a recording of the learner's that waits for its analysis."""
    home, learner = learners_home(tmp_path / "home", instructor="I-02")
    return home, learner, recordings.add(home, learner, film)


def test_each_change_is_a_version(kept: tuple[Home, Person, Recording]) -> None:
    """What was noted before stays in the history; the same terms once more are no new version."""
    home, learner, film = kept
    first = note(home, learner, film.id, PEERS, TODAY, Bystanders.NOBODY, "K.M.")
    assert note(home, learner, film.id, PEERS, TODAY, Bystanders.NOBODY, " K.M. ") == first
    note(home, learner, film.id, frozenset(Audience))
    with reading(home) as repo:
        versions = repo.sharings().consents(film.id)
        trail = repo.looks().of(film.id)
    assert [(one.version, one.audiences, one.until) for one in versions] == [
        (1, PEERS, TODAY),
        (2, frozenset(Audience), None),
    ]
    assert [(one.person_id, one.deed, one.what) for one in trail] == 2 * [
        (learner.id, str(Deed.NOTE_CONSENT), consents.NOTED)
    ]


def test_taking_it_back_closes_every_door_at_once(kept: tuple[Home, Person, Recording]) -> None:
    """No list, film, value, table, report or analysis any more, for nobody; what waited is out of the queue."""
    home, learner, film = kept
    withdraw(home, learner, film.id)
    with reading(home) as repo:
        job, now = repo.job(film.id), repo.recording(film.id)
    assert job is not None
    assert job.state == "stopped"
    assert rows(home, learner) == []
    assert set(EXPORTS) >= {"report", "print", "tables", "values", "tracks"}
    for kind in EXPORTS:
        with pytest.raises(NotAllowed, match="took the consent back"):
            export(home, learner, now, kind)
    for door in (recordings.start_analysis, recordings.stop_analysis):
        with pytest.raises(NotAllowed, match="took the consent back"):
            door(home, learner, film.id)
    with pytest.raises(NotAllowed, match="took the consent back"):
        values_of(home, learner, now)
    with reading(home) as repo:
        bare = taken_back(repo, learner)
    assert [one["id"] for one in bare] == [film.id]
    assert film.name not in str(bare)
    assert film.name not in str(consent_told(home, learner, film.id))


def test_a_consent_noted_anew_opens_it_again(kept: tuple[Home, Person, Recording]) -> None:
    """After taking back, the next version counts; taking back twice is once."""
    home, learner, film = kept
    gone = withdraw(home, learner, film.id)
    assert withdraw(home, learner, film.id) == gone
    note(home, learner, film.id, PEERS)
    assert [one["id"] for one in rows(home, learner)] == [film.id]
    with reading(home) as repo:
        assert taken_back(repo, learner) == []
    told = consent_told(home, learner, film.id)
    assert [one["words"].split(" on ")[0] for one in told["history"]] == [
        "consent taken back",
        "may be shown to peers whom the learner asks",
    ]


def test_who_may_not_note_it_changes_nothing(kept: tuple[Home, Person, Recording]) -> None:
    """A peer neither notes a consent nor takes it back."""
    home, _, film = kept
    with repository(home) as repo:
        peer = people.ensure(repo, "P-03", Role.PEER)
    for deed in (lambda: note(home, peer, film.id, PEERS), lambda: withdraw(home, peer, film.id)):
        with pytest.raises(NotAllowed, match="may not note what the examined person"):
            deed()
    with reading(home) as repo:
        assert repo.sharings().consents(film.id) == ()


@pytest.mark.parametrize("partner", ["", "K.M.", "KM", "K. M. R.", "Ö", "P-12"])
def test_initials_and_codes_are_taken(partner: str) -> None:
    """Up to three initials, with or without dots and spaces, or a code; or nothing."""
    assert read_terms([], partner=partner).partner == partner


@pytest.mark.parametrize("partner", ["Kim", "Kim Morris", "K.M.R.S.T.", "12", "<b>", "k.m.", "P-12345"])
def test_names_are_refused(partner: str) -> None:
    """What is longer than initials could be a name."""
    with pytest.raises(EntryRefused, match=r"no name\. Nothing was noted"):
        read_terms([], partner=partner)


def test_all_faults_are_told_at_once() -> None:
    """A stranger among the audiences, a past day, an unknown answer and a name make one message."""
    with pytest.raises(EntryRefused) as told:
        read_terms(["family"], "2020-01-01", "perhaps", "Kim Morris")
    for word in ("family", "2020-01-01 has passed", "perhaps", "Kim Morris"):
        assert word in str(told.value)
    with pytest.raises(EntryRefused, match="'soon' is no day"):
        read_terms([], "soon")


@pytest.mark.parametrize("said", [{}, {"audiences": "peers"}, {"audiences": [1]}, {"audiences": [], "until": 5}])
def test_terms_of_another_kind_are_refused(said: dict[str, object]) -> None:
    """What a page sends is looked at before it is read."""
    with pytest.raises(EntryRefused, match="Reload the page"):
        terms_of(said)


@pytest.mark.parametrize(
    ("consent", "words", "covered"),
    [
        (None, "no consent noted", False),
        (made.consent(withdrawn=True), "consent taken back on 2026-03-02", False),
        (made.consent(audiences=frozenset()), "may be shown to nobody else", False),
        (made.consent(audiences=PEERS), "may be shown to peers whom the learner asks", True),
        (made.consent(audiences=PEERS, until=TODAY), f"peers whom the learner asks, until {TODAY}", True),
        (made.consent(audiences=PEERS, until=date(2026, 3, 2)), "that day has passed", False),
        (made.consent(bystanders=Bystanders.UNASKED), "before the others in it were asked", False),
    ],
    ids=["none", "taken back", "nobody", "peers", "until", "passed", "bystanders"],
)
def test_what_was_agreed_is_told_in_words(consent: object, words: str, covered: bool) -> None:
    """The words say what counts today, and a file that is not covered carries a warning."""
    assert words in consent_words(consent)  # type: ignore[arg-type]
    film = made.recording(sharing=Sharing(consent=consent))  # type: ignore[arg-type]
    assert bool(unconsented(film)) is not covered


def test_a_report_says_that_no_consent_is_noted(kept: tuple[Home, Person, Recording]) -> None:
    """The printed report and the menu say so until one is noted."""
    home, learner, film = kept
    assert "no consent noted" in export(home, learner, film, "print").body.decode()
    with reading(home) as repo:
        assert "no consent noted" in noted(repo, learner)[film.id]["unconsented"]
    note(home, learner, film.id, PEERS)
    with reading(home) as repo:
        now = repo.recording(film.id)
        assert noted(repo, learner)[film.id]["unconsented"] == ""
    assert "peers whom the learner asks" in export(home, learner, now, "print").body.decode()


def test_an_exemplar_needs_the_consent_for_the_whole_course(kept: tuple[Home, Person, Recording]) -> None:
    """Where people sign in, a film whose examined person did not agree to that is not attached; agreed, it is."""
    home, learner, film = kept
    with repository(home) as repo:
        teacher = people.ensure(repo, "I-02", Role.INSTRUCTOR)
        repo.courses().start_signing_in()
        repo.courses().put(Course("balance", "Balance and senses", made.WHEN))
        for one, role in ((learner, CourseRole.LEARNER), (teacher, CourseRole.INSTRUCTOR)):
            repo.courses().put_member(Membership("balance", one.id, role))
        repo.sharings().put_in_course(film.id, "balance", made.WHEN)
        learner, teacher = repo.person("L-07"), repo.person("I-02")
    note(home, learner, film.id, {Audience.INSTRUCTORS})
    with pytest.raises(EntryRefused, match=re.escape("everybody of the course, as an exemplar")):
        _attach(home, teacher, film)
    note(home, learner, film.id, {Audience.INSTRUCTORS, Audience.COURSE})
    _attach(home, teacher, film)
    withdraw(home, learner, film.id)
    with reading(home) as repo:
        film = repo.recording(film.id)
    assert not may(learner, Deed.WATCH, film)


def _attach(home: Home, teacher: Person, film: Recording) -> None:
    with repository(home) as repo:
        now = repo.recording(film.id)
        exemplars.attach(repo, teacher, now, str(uuid4()), "hand_hygiene", None, now, 0.1, 0.3)


def test_consent_noted_meanwhile_is_not_overwritten(kept: tuple[Home, Person, Recording]) -> None:
    """A version that is not the next one is refused by the store."""
    home, learner, film = kept
    note(home, learner, film.id, PEERS, TODAY + timedelta(days=1))
    with repository(home) as repo, pytest.raises(EntryRefused, match="changed it meanwhile"):
        repo.sharings().put_consent(made.consent(1, recording_id=film.id, noted_by=learner.id))
