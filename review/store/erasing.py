"""Erasing a recording's files: whatever in the home was made of its film, says its name or is the film once more."""

from __future__ import annotations

import hashlib
import os
import shutil
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

from review.domain.model import Recording
from review.domain.wording import counted
from review.store.home import Home
from review.store.media import erase_media
from review.store.trackstore import TrackStore
from review.store.vault import erase_stowed


def erase_tracks(home: Home, recording_id: str) -> None:
    """Remove all that an analysis left of a recording: its tracks, and whatever lies beside them under its id."""
    TrackStore(home, recording_id).erase()
    for beside in home.tracks.glob(f"{recording_id}.*"):
        shutil.rmtree(beside)


def erase_files(home: Home, recording: Recording) -> list[str]:
    """Remove every file of a recording whose rows are gone already; the film's lock is held.

    Beside its folders these are uploads of the same film that were never added, as after the death of a server, and
    lines of the log of analyses that name it.

    Returns
    -------
    list of str
        What was removed beside its folders, in plain words.
    """
    told = []
    for upload in sorted(uploads_of(home, recording)):
        shutil.rmtree(upload)
        told.append("an upload of the same film that was not added yet")
    erase_tracks(home, recording.id)
    told += erase_stowed(home, recording.sha256)
    erase_media(home, recording.sha256)
    lines = _forget(home.log, (recording.id, recording.sha256, recording.name))
    if lines:
        told.append(f"{counted(lines, 'line')} of the log of analyses that named it")
    return told


def uploads_of(home: Home, recording: Recording) -> Iterator[Path]:
    """Yield the folders of uploads that hold a recording's film whole."""
    for folder in home.incoming.iterdir():
        with suppress(FileNotFoundError, NotADirectoryError):  # it was added, or given up, just now
            if any(_is_film(path, recording) for path in folder.rglob("*")):
                yield folder


def _is_film(path: Path, recording: Recording) -> bool:
    if not path.is_file() or path.stat().st_size != recording.size_bytes:
        return False
    with path.open("rb") as film:
        return hashlib.file_digest(film, "sha256").hexdigest() == recording.sha256


def _forget(log: Path, words: tuple[str, ...]) -> int:
    """Take the lines that hold any of the words out of a log, in its place, and return how many they were.

    What another process appends meanwhile may be lost; the log is for a look after a failure only.
    """
    if not log.exists():
        return 0
    hidden = [word.encode() for word in words if word]
    with log.open("r+b") as handle:
        lines = handle.readlines()
        kept = [line for line in lines if not any(word in line for word in hidden)]
        if len(kept) < len(lines):
            handle.seek(0)
            handle.writelines(kept)
            handle.truncate()
            handle.flush()
            os.fsync(handle.fileno())
    return len(lines) - len(kept)
