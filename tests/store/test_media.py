from __future__ import annotations

import errno
import hashlib
import os
import shutil
import stat
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from review.domain.errors import FilmRefused, InputError, StoreBroken
from review.store.home import Home
from review.store.media import (
    erase_media,
    find_original,
    keep_original,
    load_times,
    media_folder,
    save_times,
    sweep_incoming,
    taking_in,
)

CONTENT = bytes(range(256)) * 40_000
SHA256 = hashlib.sha256(CONTENT).hexdigest()


@pytest.fixture
def film(tmp_path: Path) -> Path:
    """Write a file of 10 MB that stands for a film."""
    path = tmp_path / "Attempt 1.MP4"
    path.write_bytes(CONTENT)
    return path


def _everything(home: Home) -> list[Path]:
    return [path for path in home.root.rglob("*") if path.is_file()]


def test_the_original_is_kept_byte_for_byte_and_read_only(home: Home, film: Path) -> None:
    """The kept file lies under its fingerprint, equals the source, and nobody may write to it."""
    kept = keep_original(home, film, SHA256)
    assert kept == home.media / SHA256[:2] / SHA256 / "original.mp4"
    assert kept.read_bytes() == CONTENT
    assert not kept.stat().st_mode & (stat.S_IWUSR | stat.S_IWGRP | stat.S_IWOTH)
    assert _everything(home) == [kept]


def test_the_same_film_is_kept_once(home: Home, film: Path, tmp_path: Path) -> None:
    """The same content under another name gives the first copy again, untouched."""
    kept = keep_original(home, film, SHA256)
    before = kept.stat()
    again = tmp_path / "copy.mov"
    shutil.copy(film, again)
    assert keep_original(home, again, SHA256) == kept
    assert (kept.stat().st_mtime_ns, kept.stat().st_ino) == (before.st_mtime_ns, before.st_ino)
    assert _everything(home) == [kept]


@pytest.mark.skipif(sys.platform == "win32", reason="Windows takes no name away from a read-only file")
def test_an_upload_is_kept_without_a_second_copy(home: Home, film: Path) -> None:
    """A film in the home's own folder of uploads and the original are one file, until the upload is tidied away."""
    upload = home.incoming / "0123456789abcdef" / "film" / film.name
    upload.parent.mkdir(parents=True)
    film.rename(upload)
    kept = keep_original(home, upload, SHA256)
    assert kept.samefile(upload)
    shutil.rmtree(upload.parent.parent)
    assert kept.read_bytes() == CONTENT
    assert _everything(home) == [kept]


def test_a_disk_that_fills_up_on_the_way_is_one_clear_error(home: Home) -> None:
    """A full disk while a film is taken in is said in words, and nothing of the film stays."""
    with pytest.raises(InputError, match="became full while"), taking_in(home, SHA256):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
    assert _everything(home) == []


def test_a_film_that_changed_meanwhile_is_refused(home: Home, film: Path) -> None:
    """A file that is still being written does not get a fingerprint that is not its own."""
    with film.open("ab") as handle:
        handle.write(b"more")
    with pytest.raises(FilmRefused, match="changed while it was read"):
        keep_original(home, film, SHA256)
    assert _everything(home) == []


def test_a_full_disk_is_said_before_anything_is_copied(home: Home, film: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When less is free than the film needs, the message names both and nothing is left."""
    usage = shutil.disk_usage(home.root)._replace(free=5_000_000)
    monkeypatch.setattr(shutil, "disk_usage", lambda path: usage)
    with pytest.raises(InputError, match=r"too full .*5 MB are free, 77 MB are needed"):
        keep_original(home, film, SHA256)
    assert _everything(home) == []


@pytest.mark.parametrize(
    ("number", "words"), [(errno.ENOSPC, "too full"), (errno.EIO, "could not be kept")], ids=["disk full", "disk fault"]
)
def test_a_fault_while_copying_leaves_nothing_behind(
    home: Home, film: Path, monkeypatch: pytest.MonkeyPatch, number: int, words: str
) -> None:
    """A disk that fails at the very end of the copy leaves no half film."""

    def fail(handle: int) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises(InputError, match=words):
        keep_original(home, film, SHA256)
    assert _everything(home) == []
    assert find_original(home, SHA256) is None


def test_a_missing_film_is_one_clear_error(home: Home, tmp_path: Path) -> None:
    """A path without a file is refused by name."""
    with pytest.raises(InputError, match=r"gone\.mp4 could not be kept"):
        keep_original(home, tmp_path / "gone.mp4", SHA256)


@pytest.mark.parametrize("sha256", ["../../etc", "A" * 64, SHA256 + "0", ""])
def test_only_a_fingerprint_names_a_folder(home: Home, sha256: str) -> None:
    """Text that is no SHA-256 reaches no path."""
    with pytest.raises(StoreBroken, match="SHA-256"):
        media_folder(home, sha256)


def test_frame_times_come_back_to_the_last_bit(home: Home) -> None:
    """Times are kept as float64: after half an hour float32 would have steps of 0.1 ms."""
    times = 1800 + np.arange(5) / 30
    save_times(home, SHA256, times)
    save_times(home, SHA256, times)
    loaded = load_times(home, SHA256)
    assert loaded.dtype == np.float64
    np.testing.assert_array_equal(loaded, times)
    assert [path.name for path in media_folder(home, SHA256).iterdir()] == ["times.npy"]


@pytest.mark.parametrize("content", [None, b"", b"not numbers"], ids=["missing", "empty", "other"])
def test_frame_times_that_cannot_be_read_are_said(home: Home, content: bytes | None) -> None:
    """Missing or foreign bytes give one error of ours."""
    path = media_folder(home, SHA256) / "times.npy"
    if content is not None:
        path.parent.mkdir(parents=True)
        path.write_bytes(content)
    with pytest.raises(StoreBroken, match="frame times"):
        load_times(home, SHA256)


def test_erasing_removes_the_read_only_original_too(home: Home, film: Path) -> None:
    """After erasing no file of the film is left, and erasing twice is no fault."""
    keep_original(home, film, SHA256)
    save_times(home, SHA256, [0.0])
    erase_media(home, SHA256)
    erase_media(home, SHA256)
    assert _everything(home) == []


def test_what_stopped_arriving_a_week_ago_is_swept(home: Home) -> None:
    """Old broken-off copies and uploads go; what has grown since stays, a folder with a fresh part in it included."""
    week = 7 * 24 * 3600
    old, fresh = home.incoming / "old.part", home.incoming / "fresh.part"
    stale, growing = home.incoming / "stale", home.incoming / "growing"
    for folder in (stale, growing):
        folder.mkdir()
        (folder / "part").write_bytes(b"film")
    old.write_bytes(b"film")
    fresh.write_bytes(b"film")
    long_ago = time.time() - week - 60
    for path in (old, stale / "part", stale, growing):
        os.utime(path, (long_ago, long_ago))
    sweep_incoming(home)
    assert sorted(home.incoming.iterdir()) == [fresh, growing]
    assert (growing / "part").read_bytes() == b"film"
