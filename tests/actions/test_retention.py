"""Dates on which recordings are erased: set for a home or a course, kept by a job, told before."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from review.access import Deed
from review.actions import people, recordings
from review.actions.consents import note, withdraw
from review.actions.looking import Trail, trail_of
from review.actions.retention import due, keep_dates, set_days
from review.domain.course import Course, CourseRole
from review.domain.errors import EntryRefused, NotAllowed, StoreBroken
from review.domain.model import Person, Recording, Role
from review.domain.sharing import Audience
from review.report.privacy import looks_at, privacy, soon_erased
from review.store.home import Home
from review.store.keeping import TRAIL_DAYS
from review.store.looks import Looks
from review.store.media import media_folder
from review.store.repository import reading, repository
from tests.counting import statements
from tests.films import even_times, make_film
from tests.homes import learners_home

NOW = datetime.now(UTC)
DAY = timedelta(days=1)


@pytest.fixture
def kept(tmp_path: Path) -> tuple[Home, Person, Recording]:
    """Make a home without accounts, a learner, and a recording of the learner's."""
    home, learner = learners_home(tmp_path / "home", instructor="I-02")
    return home, learner, recordings.add(home, learner, make_film(tmp_path / "one.mp4", even_times(9)))


def test_without_a_date_nothing_is_erased(kept: tuple[Home, Person, Recording]) -> None:
    """A home without a date keeps everything, however old it is, also past a consent's last day."""
    home, learner, film = kept
    note(home, learner, film.id, {Audience.PEERS}, NOW.date())
    assert keep_dates(home, NOW + 4000 * DAY) == []
    assert media_folder(home, film.sha256).exists()


def test_what_is_due_is_erased_with_a_receipt(kept: tuple[Home, Person, Recording], tmp_path: Path) -> None:
    """On its day a recording goes, a younger one stays; the receipt says why, and nobody has erased it."""
    home, learner, film = kept
    set_days(home, learner, 30)
    young = recordings.add(home, learner, make_film(tmp_path / "two.mp4", even_times(11)))
    with repository(home) as repo:
        repo.update_recording(replace(repo.recording(film.id), added_at=NOW - 10 * DAY))
    assert due(home, NOW + 19 * DAY) == []
    assert [one.recording.id for one in due(home, NOW + 20 * DAY)] == [film.id]
    told: list[str] = []
    receipts = keep_dates(home, NOW + 20 * DAY, lambda recording, receipt: told.append(recording.id))
    assert told == [film.id]
    assert [(one.why, one.erased_by) for one in receipts] == [("retention: 30 days after it was added", None)]
    assert receipts[0].proof is not None
    assert receipts[0].proof.holds
    assert not media_folder(home, film.sha256).exists()
    with reading(home) as repo:
        assert [one.id for one in repo.recordings()] == [young.id]
    assert keep_dates(home, NOW + 20 * DAY) == []


def test_an_interrupted_job_goes_on(
    kept: tuple[Home, Person, Recording], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What a killed job did not reach is still due, and is erased the next time."""
    home, learner, _ = kept
    recordings.add(home, learner, make_film(tmp_path / "two.mp4", even_times(11)))
    set_days(home, learner, 1)

    def stop(recording: Recording, receipt: object) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        keep_dates(home, NOW + 2 * DAY, stop)
    assert len(due(home, NOW + 2 * DAY)) == 1
    assert len(keep_dates(home, NOW + 2 * DAY)) == 1


def test_a_course_has_a_date_of_its_own(kept: tuple[Home, Person, Recording]) -> None:
    """Where people sign in, the course's number of days counts, and the home's cannot be set."""
    home, _, film = kept
    with repository(home) as repo:
        repo.courses().put(Course("balance", "Balance and senses", NOW, retention_days=7))
        repo.sharings().put_in_course(film.id, "balance")
    assert [one.day for one in due(home, NOW + 8 * DAY)] == [film.added_at.date() + 7 * DAY]
    with repository(home) as repo:
        repo.courses().start_signing_in()
    owner = Person("p-owner", "I-02", Role.INSTRUCTOR, {"balance": CourseRole.OWNER})
    with pytest.raises(EntryRefused, match="each course says itself"):
        set_days(home, owner, 3)


@pytest.mark.parametrize("days", [0, -1, 3651])
def test_days_out_of_range_are_refused(kept: tuple[Home, Person, Recording], days: int) -> None:
    """A day at least, ten years at most."""
    with pytest.raises(EntryRefused, match="expected 1 to 3650, or off"):
        set_days(kept[0], kept[1], days)


def test_a_peer_sets_no_date(kept: tuple[Home, Person, Recording]) -> None:
    """Only those who may erase set when things are erased."""
    with repository(kept[0]) as repo:
        peer = people.ensure(repo, "P-03", Role.PEER)
    with pytest.raises(NotAllowed, match="may not set after how many days"):
        set_days(kept[0], peer, 5)


def test_two_weeks_before_it_is_said(kept: tuple[Home, Person, Recording]) -> None:
    """The row of a recording warns from 14 days before its day; the page tells the day at once."""
    home, learner, film = kept
    set_days(home, learner, 15)
    assert _soon(home) == {}
    set_days(home, learner, 14)
    day = (film.added_at + 14 * DAY).date().isoformat()
    assert _soon(home) == {film.id: f"erased on {day}"}
    assert privacy(home, learner)["recordings"][0]["erased_on"] == day
    set_days(home, learner, None)
    assert _soon(home) == {}


def _soon(home: Home) -> dict[str, str]:
    with reading(home) as repo:
        return soon_erased(repo)


def test_the_trail_has_one_line_an_hour(kept: tuple[Home, Person, Recording]) -> None:
    """Watching again and again is one line, one's own watching none, a file that is made always one."""
    home, learner, film = kept
    with repository(home) as repo:
        teacher = people.ensure(repo, "I-02", Role.INSTRUCTOR)
    for trail in (Trail(home), Trail(home)):
        for person in (teacher, learner, teacher):
            trail.saw(person, film, Deed.WATCH)
        trail.took_out(learner, film, "file: report")
    found = [(one["who"], one["deed"], one["what"]) for one in looks_at(home, learner, film.id)]
    assert found == [("L-07", "see this recording", "file: report"), ("I-02", "watch this film", "")]
    with reading(home) as repo:
        peer = replace(repo.person("I-02"), role=Role.PEER)
    with pytest.raises(NotAllowed, match="may not see who looked"):
        looks_at(home, peer, film.id)


def test_pages_know_by_heart_what_they_noted(
    kept: tuple[Home, Person, Recording], monkeypatch: pytest.MonkeyPatch
) -> None:
    """All pages share one trail, and a look that was noted is looked up no more; one that could not be noted is."""
    home, learner, film = kept
    assert trail_of(home) is trail_of(Home(home.root))

    def broken(*_: object) -> None:
        raise StoreBroken("The disk is gone.")

    with monkeypatch.context() as without:
        without.setattr(Looks, "note", broken)
        with pytest.raises(StoreBroken):
            trail_of(home).took_out(learner, film, "file: report")
    trail_of(home).took_out(learner, film, "file: report")
    with statements() as asked:
        trail_of(home).took_out(learner, film, "file: report")
    assert asked == []
    assert [one["what"] for one in looks_at(home, learner, film.id)] == ["file: report"]


def test_old_lines_of_the_trail_go(kept: tuple[Home, Person, Recording]) -> None:
    """The same job drops lines of the trail that are older than two years."""
    home, learner, film = kept
    Trail(home).took_out(learner, film, "file: report")
    keep_dates(home, NOW + (TRAIL_DAYS - 1) * DAY)
    assert len(looks_at(home, learner, film.id)) == 1
    keep_dates(home, NOW + (TRAIL_DAYS + 1) * DAY)
    assert looks_at(home, learner, film.id) == []


def test_who_can_see_it_comes_from_the_policy(kept: tuple[Home, Person, Recording]) -> None:
    """On a machine without accounts everybody known; after the consent was taken back nobody."""
    home, learner, film = kept
    who = privacy(home, learner)["recordings"][0]["who"]
    assert who == [{"why": "whoever is at this machine: nobody signs in here", "codes": ["I-02", "L-07"]}]
    withdraw(home, learner, film.id)
    told = privacy(home, learner)["recordings"][0]
    assert (told["who"], told["withdrawn"]) == ([], True)
    assert film.name not in str(told)
