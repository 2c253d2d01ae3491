"""Mending recordings: what is lost beside the original is made anew, and a lost original is put back."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest

from review.__main__ import main
from review.actions import marks, recordings
from review.actions.copies import COPY, STILLS, TIMES, lacking, restore_copies
from review.capture.intake import probe
from review.domain.errors import NotFound
from review.domain.model import Person, Recording
from review.store.home import Home
from review.store.media import load_times, media_folder
from review.store.repository import reading, repository
from review.store.vault import erase_stowed
from tests.films import even_times, make_film
from tests.homes import learners_home


@pytest.fixture
def film(tmp_path: Path) -> Path:
    """Write a film that no browser plays as it is, so that it needs a copy."""
    return make_film(tmp_path / "attempt.mkv", even_times(45), codec="libvpx")


@pytest.fixture
def kept(tmp_path: Path, film: Path) -> tuple[Home, Person, Recording]:
    """Return a home, a learner and the learner's recording of the film."""
    home, learner = learners_home(tmp_path / "home")
    return home, learner, recordings.add(home, learner, film)


def listing(home: Home, recording: Recording) -> list[str]:
    """Return the names of all files of a recording's film."""
    return sorted(path.name for path in media_folder(home, recording.sha256).rglob("*") if path.is_file())


def _lose(home: Home, recording: Recording) -> None:
    """Lose all files of a film, those in a bucket too."""
    shutil.rmtree(media_folder(home, recording.sha256))
    erase_stowed(home, recording.sha256)


def test_what_is_lost_is_made_anew_from_the_original(kept: tuple[Home, Person, Recording]) -> None:
    """An empty copy, unreadable times and missing stills come back; a second mending finds nothing to do."""
    home, learner, recording = kept
    before, times = listing(home, recording), load_times(home, recording.sha256)
    folder = media_folder(home, recording.sha256)
    (folder / "playback.mp4").write_bytes(b"")
    (folder / "times.npy").write_bytes(b"no numbers")
    shutil.rmtree(folder / "stills")
    assert lacking(home, recording) == (COPY, TIMES)
    assert restore_copies(home, learner, recording.id) == (COPY, TIMES, STILLS)
    assert listing(home, recording) == before
    np.testing.assert_array_equal(load_times(home, recording.sha256), times)
    assert probe(home.root / recording.playback)[0].frames == 45
    assert restore_copies(home, learner, recording.id) == lacking(home, recording) == ()


def test_a_lost_original_is_put_back_by_adding_the_same_film(
    kept: tuple[Home, Person, Recording], film: Path, tmp_path: Path
) -> None:
    """Mending says what to do; the film under another name then takes its old place, and the mark on it stays."""
    home, learner, recording = kept
    with repository(home) as repo:
        marks.place(repo, learner, recording, "hand_hygiene", None, 0.1, 0.9)
    _lose(home, recording)
    with pytest.raises(NotFound, match="Add the same film again"):
        restore_copies(home, learner, recording.id)
    again = recordings.add(home, learner, film.rename(tmp_path / "found.avi"))
    assert (again.id, again.original[-12:]) == (recording.id, "original.avi")
    assert lacking(home, again) == ()
    with reading(home) as repo:
        assert repo.recording(recording.id) == again
        assert len(repo.marks(recording.id)) == 1


def test_an_original_that_was_cut_off_is_replaced(kept: tuple[Home, Person, Recording], film: Path) -> None:
    """An original of the wrong size counts as lost; the whole film takes its place."""
    home, learner, recording = kept
    original = home.root / recording.original
    original.chmod(0o600)
    original.write_bytes(film.read_bytes()[:1000])
    with pytest.raises(NotFound, match="not whole"):
        restore_copies(home, learner, recording.id)
    recordings.add(home, learner, film)
    assert original.read_bytes() == film.read_bytes()
    assert restore_copies(home, learner, recording.id) == ()


def test_mend_tells_what_it_made_and_what_it_cannot(
    kept: tuple[Home, Person, Recording], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Of three recordings one is mended, one was whole, and the one without its original is told with exit code 2."""
    home, learner, recording = kept
    recordings.add(home, learner, make_film(tmp_path / "whole.mp4", even_times(6)))
    lost = recordings.add(home, learner, make_film(tmp_path / "lost.mp4", even_times(9)))
    (home.root / recording.playback).unlink()
    erase_stowed(home, recording.sha256)
    _lose(home, lost)
    assert main(["mend", "--home", str(home.root)]) == 2
    told = capsys.readouterr()
    assert f"{recording.id}  attempt.mkv: made again: copy for the browser" in told.out
    assert "Nothing was missing in 1 recording." in told.out
    assert told.err.startswith("The film of lost.mp4 is lost")
    assert main(["mend", recording.id, "--home", str(home.root)]) == 0
