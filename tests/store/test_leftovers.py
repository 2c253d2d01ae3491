"""What killed processes left behind goes; what is being worked on, and what could be lost for good, stays."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest

from review.domain.tracks import empty_tracks
from review.store.database import Database
from review.store.files import locked
from review.store.home import Home
from review.store.leftovers import sweep
from review.store.media import film_alone, is_unfinished, media_folder, set_unfinished, taking_in
from review.store.trackstore import TrackStore, tracks_lock
from tests.store.made import recording

KNOWN = recording()
STRAY = "5a" * 32


def fill(home: Home, sha256: str, *names: str) -> Path:
    """Write small files into a film's folder and return the folder."""
    folder = media_folder(home, sha256)
    (folder / "stills").mkdir(parents=True, exist_ok=True)
    for name in names:
        (folder / name).write_bytes(b"film")
    return folder


def names_in(folder: Path) -> list[str]:
    """Return the names of all files below a folder."""
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())


def test_film_that_was_being_added_goes_with_its_tracks(home: Home, database: Database) -> None:
    """A marked folder that no recording knows is removed whole, and so is the empty folder above it."""
    folder = fill(home, STRAY, "original.mp4", ".playback.mp4.1234.part")
    set_unfinished(home, STRAY)
    TrackStore(home, STRAY[:12]).create(empty_tracks([0.0, 0.1], 64, 48))
    sweep(home)
    assert not folder.parent.exists()
    assert [path.name for path in home.tracks.iterdir()] == [f".{STRAY[:2]}.lock"]


def test_film_that_is_being_added_just_now_stays(home: Home, database: Database) -> None:
    """As long as somebody holds the film's lock nothing of it is touched."""
    folder = fill(home, STRAY, "original.mp4", ".playback.mp4.1234.part")
    with film_alone(home, STRAY), taking_in(home, STRAY):
        before = names_in(folder)
        sweep(home)
        assert names_in(folder) == before


def test_whole_film_of_a_lost_database_stays(home: Home, database: Database) -> None:
    """A finished film that no recording knows keeps its files and its tracks; only its half-written files go."""
    folder = fill(home, STRAY, "original.mp4", "times.npy", ".playback.mp4.1234.part")
    TrackStore(home, STRAY[:12]).create(empty_tracks([0.0, 0.1], 64, 48))
    sweep(home)
    assert names_in(folder) == ["original.mp4", "times.npy"]
    assert TrackStore(home, STRAY[:12]).exists()


def test_folder_without_an_original_goes(home: Home, database: Database) -> None:
    """Times or stills of no film and no recording are removed."""
    folder = fill(home, STRAY, "times.npy", "stills/00001000-120.jpg")
    sweep(home)
    assert not folder.exists()


def test_recording_keeps_its_files_and_loses_half_written_ones(home: Home, database: Database) -> None:
    """The mark of an erasure that never began goes; a still that is being written just now stays, an old one goes."""
    folder = fill(home, KNOWN.sha256, "original.mp4", ".playback.mp4.1234.part", "stills/1.7.part", "stills/2.8.part")
    set_unfinished(home, KNOWN.sha256)
    long_ago = time.time() - 7200
    os.utime(folder / "stills/1.7.part", (long_ago, long_ago))
    sweep(home)
    assert names_in(folder) == ["original.mp4", "stills/2.8.part"]


def test_tracks_of_no_recording_go(home: Home, database: Database) -> None:
    """Tracks without a recording and halves of an interrupted layout are removed; the recording's own tracks stay."""
    for name in (KNOWN.id, "b2b2b2b2b2b2"):
        TrackStore(home, name).create(empty_tracks([0.0, 0.1], 64, 48))
    for name in (f"{KNOWN.id}.new", f"{KNOWN.id}.gone"):
        (home.tracks / name / "done").mkdir(parents=True)
    for name in (f"{KNOWN.id}.seen", "b2b2b2b2b2b2.seen", "c3c3c3c3c3c3.seen"):
        (home.tracks / name).mkdir()
    sweep(home)
    left = {path.name for path in home.tracks.iterdir() if path.suffix != ".lock"}
    assert left == {KNOWN.id, f"{KNOWN.id}.seen"}


def test_half_of_a_layout_that_somebody_is_at_stays(home: Home, database: Database) -> None:
    """As long as the tracks of a recording are being laid out the half is not removed; others' halves are."""
    for name in (KNOWN.id, "b2b2b2b2b2b2"):
        (home.tracks / f"{name}.new").mkdir(parents=True)
    with locked(tracks_lock(home, KNOWN.id)):
        sweep(home)
    assert [path.name for path in home.tracks.iterdir() if path.is_dir()] == [f"{KNOWN.id}.new"]


def test_failed_adding_leaves_a_film_that_lay_there_before(home: Home) -> None:
    """A film of a lost database that is added again and fails half-way stays; a new one's files go."""
    fill(home, STRAY, "original.mp4")
    for sha256 in (STRAY, KNOWN.sha256):
        with pytest.raises(OSError, match="full"), taking_in(home, sha256):
            _fill_and_fail(home, sha256)
    assert names_in(home.media) == [f"5a/{STRAY}/original.mp4"]
    with taking_in(home, KNOWN.sha256):
        assert is_unfinished(home, KNOWN.sha256)
    assert not is_unfinished(home, KNOWN.sha256)


def _fill_and_fail(home: Home, sha256: str) -> None:
    fill(home, sha256, "original.mp4")
    raise OSError("full")
