"""A watched folder: what is taken, what waits, what is refused, and that nothing is deleted."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest

from review.actions import courses, recordings
from review.actions.inbox import QUIET_S, Inbox
from review.domain.course import CourseRole, Membership
from review.store.repository import reading, repository
from tests.homes import learners_home
from tests.ui.conftest import write_film


@dataclass
class Watched:
    """An inbox with a clock that is set by hand, and what it said."""

    inbox: Inbox
    said: list[str]
    now: list[float]

    def after(self, seconds: float) -> list[str]:
        """Look once when so many seconds have gone by; return the names of the files dealt with."""
        self.now[0] += seconds
        return [path.name for path in self.inbox.look()]


@pytest.fixture
def watched(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Watched:
    """Return an inbox of an empty folder; analyses are not started."""
    monkeypatch.setattr(recordings, "start_analysis", lambda home, person, recording: None)
    home, learner = learners_home(tmp_path / "home")
    folder = tmp_path / "inbox"
    folder.mkdir()
    said: list[str] = []
    now = [0.0]
    return Watched(Inbox(home, learner, folder, said.append, lambda: now[0]), said, now)


def test_film_is_taken_once_it_rests(watched: Watched) -> None:
    """A film that still grows waits; once it has rested it becomes a recording and moves to `taken`."""
    film = watched.inbox.folder / "romberg.mp4"
    write_film(film)
    whole = film.read_bytes()
    film.write_bytes(whole[:1000])
    assert watched.after(0) == []
    film.write_bytes(whole)
    assert watched.after(QUIET_S) == []
    assert watched.after(QUIET_S - 0.1) == []
    assert watched.after(0.1) == ["romberg.mp4"]
    with reading(watched.inbox.home) as repo:
        assert [one.name for one in repo.recordings()] == ["romberg.mp4"]
    assert (watched.inbox.folder / "taken" / "romberg.mp4").read_bytes() == whole


def test_refused_file_keeps_its_reason(watched: Watched) -> None:
    """What is no film moves to `refused` with the reason beside it; a second one of its name does not replace it."""
    for words in ("first notes", "second notes"):
        (watched.inbox.folder / "notes.mp4").write_text(words)
        watched.after(0)
        assert watched.after(QUIET_S) == ["notes.mp4"]
    refused = watched.inbox.folder / "refused"
    assert (refused / "notes.mp4").read_text() == "first notes"
    assert (refused / "notes (2).mp4").read_text() == "second notes"
    assert "notes.mp4" in (refused / "notes.mp4.txt").read_text()


def test_a_film_without_room_in_its_course_stays(watched: Watched) -> None:
    """It is told once with what to do and left where it is, and nothing of it is in the home."""
    home = watched.inbox.home
    with repository(home) as repo:
        courses.start(repo, "balance", "Balance lab", "I-01")
        repo.courses().put_member(Membership("balance", watched.inbox.person.id, CourseRole.LEARNER))
        courses.set_quota(repo, repo.person("I-01"), "balance", 1e-6)
    film = watched.inbox.folder / "romberg.mp4"
    write_film(film)
    watched.after(0)
    assert watched.after(QUIET_S) == ["romberg.mp4"]
    assert watched.after(QUIET_S) == []
    (said,) = watched.said
    assert said.startswith("romberg.mp4: left where it is. romberg.mp4 needs ")
    assert "of the 1e-06 GB for the films of Balance lab: ask whoever runs the course, or erase films" in said
    assert film.exists()
    assert list(home.media.rglob("original*")) == []


def test_locked_file_waits(watched: Watched, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file that may not be read stays, is told once, and is not asked again while it is as it was."""
    film = watched.inbox.folder / "locked.mp4"
    film.write_bytes(b"x")

    def locked(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied", str(film))

    monkeypatch.setattr(recordings, "add", locked)
    watched.after(0)
    assert watched.after(QUIET_S) == ["locked.mp4"]
    assert watched.after(QUIET_S) == []
    assert (film.exists(), len(watched.said)) == (True, 1)


def test_vanishing_file_is_no_fault(watched: Watched, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file that vanishes while it is being taken is told in a sentence, and the watching goes on."""
    film = watched.inbox.folder / "gone.mp4"
    film.write_bytes(b"x")
    watched.after(0)

    def vanish(*_: object, **__: object) -> None:
        film.unlink()
        raise FileNotFoundError(2, "No such file", str(film))

    monkeypatch.setattr(recordings, "add", vanish)
    assert watched.after(QUIET_S) == ["gone.mp4"]
    assert watched.after(QUIET_S) == []
    assert watched.said[0].startswith("gone.mp4: left where it is.")
