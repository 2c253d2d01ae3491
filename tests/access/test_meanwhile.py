"""A consent is taken back between two transactions: what was read in the first counts for nothing in the second."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import pytest

from review.__main__ import main
from review.actions import consents, reading_back, recordings
from review.domain.errors import NotAllowed
from review.domain.model import Interval, Person, Recording
from review.report import recordings as listed
from review.report.chapters import chapters
from review.report.entries import entries_of
from review.report.exports import export
from review.report.landmarks import landmark_bytes
from review.report.people import people_seen
from review.report.told import told
from review.report.tracks import trace_of
from review.report.values import values_of
from review.store.home import Home
from review.store.repository import reading, repository
from tests.homes import learners_home
from tests.store import made

Seen = tuple[Home, Person, Recording]

READ: Final[dict[str, Callable[[Home, Person, Recording], object]]] = {
    "chapters": chapters,
    "entries": entries_of,
    "export": lambda home, person, film: export(home, person, film, "chapters"),
    "landmarks": lambda home, person, film: landmark_bytes(home, person, film, Interval(0.0, 1.0)),
    "people": people_seen,
    "read back": lambda home, person, film: reading_back.read_back(home, person, film, "a.vtt", b"WEBVTT\n\n"),
    "told": told,
    "trace": lambda home, person, film: trace_of(home, person, film, "stance_width"),
    "unfinished": lambda home, person, film: listed.unfinished(home, person, [film]),
    "values": values_of,
}


@pytest.fixture
def stale(tmp_path: Path) -> Seen:
    """Return a recording as it was read before the examined person took the consent back."""
    home, learner = learners_home(tmp_path / "home", instructor="I-02")
    with repository(home) as repo:
        film = made.recording("aa" * 6, added_by=learner.id, checklist_id="balance_only")
        repo.add_recording(film)
        before = repo.recording(film.id)
    consents.withdraw(home, learner, film.id)
    return home, learner, before


@pytest.mark.parametrize("read", READ)
def test_what_was_read_before_is_not_gone_by(stale: Seen, read: str) -> None:
    """Each of them asks the policy about the recording as it is in its own transaction."""
    with pytest.raises(NotAllowed, match="took the consent back"):
        READ[read](*stale)


def test_it_is_not_analysed_any_more(stale: Seen) -> None:
    """Nothing puts it into the queue again."""
    home, learner, film = stale
    with pytest.raises(NotAllowed, match="took the consent back"):
        recordings.start_analysis(home, learner, film.id)
    with reading(home) as repo:
        assert repo.job(film.id) is None


@dataclass
class _Found:
    """Stands in for the finding of a recording, which came before the consent was taken back."""

    film: Recording

    def __call__(self, *_: object) -> Recording:
        return self.film


@pytest.mark.parametrize(
    "words",
    [
        ["sign-off", "--result", "passed", "--as", "I-02"],
        ["sign-off"],
        ["enter", "eyes_open", "3 of 3"],
        ["entries", "--withdraw", "eyes_open"],
        ["mark", "eyes_open", "--from", "1", "--to", "2"],
        ["mark"],
    ],
    ids=" ".join,
)
def test_commands_ask_again_where_they_write(
    stale: Seen, words: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A command that found the recording before is refused inside the transaction that writes, or tells."""
    home, _, film = stale
    monkeypatch.setattr(listed, "find", _Found(film))
    assert main([words[0], film.id, *words[1:], "--home", str(home.root)]) == 2
    assert "took the consent back" in capsys.readouterr().err


def test_a_peer_has_nothing_analysed(stale: Seen, capsys: pytest.CaptureFixture[str]) -> None:
    """`analyse` asks for more than being allowed to see."""
    home, learner, film = stale
    consents.note(home, learner, film.id, [])
    asked = ["analyse", film.id, "--as", "P-03", "--role", "peer", "--home", str(home.root)]
    assert main(asked) == 2
    assert "may not have this recording analysed" in capsys.readouterr().err
