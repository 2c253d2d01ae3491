"""An erasure that was cut short is finished by the next sweep, and its receipt is proved by a later look."""

from __future__ import annotations

from pathlib import Path

import pytest

from review.actions import erasing, recordings
from review.domain.model import Person
from review.report import receipts
from review.store.home import Home
from review.store.leftovers import sweep
from review.store.media import film_alone
from tests.films import even_times, make_film
from tests.homes import learners_home


def _killed(*_: object) -> list[str]:
    raise KeyboardInterrupt


def _cut_short(home: Home, person: Person, recording_id: str, monkeypatch: pytest.MonkeyPatch) -> None:
    with monkeypatch.context() as patched:
        patched.setattr(erasing, "erase_files", _killed)
        with pytest.raises(KeyboardInterrupt):
            erasing.erase(home, person, recording_id)


def _told(home: Home, person: Person, receipt_id: str) -> str:
    return " ".join(receipts.receipt(home, person, receipt_id)["lines"])


def test_the_receipt_is_proved_at_the_next_start(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Before, it says so; while somebody is at the film nothing is claimed; then it is proved, once."""
    home, learner = learners_home(tmp_path / "home")
    film = make_film(tmp_path / "one.mp4", even_times(9))
    kept = recordings.add(home, learner, film)
    _cut_short(home, learner, kept.id, monkeypatch)
    assert "Not looked again" in _told(home, learner, kept.id)
    with film_alone(home, kept.sha256):
        assert erasing.look_again(home) == []
    sweep(home)
    (proved,) = erasing.look_again(home)
    assert proved.proof is not None
    assert proved.proof.holds
    told = _told(home, learner, kept.id)
    assert "none of its files is there, no row" in told
    assert "looked again for files and rows only" in told
    assert "stretches" not in told
    assert erasing.look_again(home) == []


def test_what_is_left_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file that no sweep took is in the receipt; a film that was added again is no remainder."""
    home, learner = learners_home(tmp_path / "home")
    film = make_film(tmp_path / "one.mp4", even_times(9))
    kept = recordings.add(home, learner, film)
    _cut_short(home, learner, kept.id, monkeypatch)
    sweep(home)
    again = recordings.add(home, learner, film)
    assert erasing.look_again(home) == []
    with monkeypatch.context() as patched:
        patched.setattr(erasing, "erase_files", lambda home, recording: [])
        erasing.erase(home, learner, again.id)
    (proved,) = erasing.look_again(home)
    assert proved.proof is not None
    assert kept.original in proved.proof.files_left
