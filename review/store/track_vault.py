"""What was seen and heard in films, in the bucket besides: one archive a recording, among the film's own files.

::

    media/<first two digits>/<sha256>/analysis.zip    what lies in tracks/<recording>*: tracks, seen, words
                                      stowed.txt      in the home alone: the state of it that was put there last

Tracks are many small files that change while a film is analysed, so they are put there once the analysis is done. Where
a home has lost them they come back from there, and nothing is looked at or listened to again. As the archive lies among
the film's files, whatever is done with those, erasing above all, is done with it.
"""

from __future__ import annotations

import shutil
import zipfile
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Final

from review.domain.errors import StoreBroken
from review.domain.model import Recording
from review.store.files import locked, replacing, settle
from review.store.home import Home
from review.store.media import media_folder
from review.store.sightings import SightingStore
from review.store.trackstore import TrackStore, tracks_lock
from review.store.vault import at_hand, beginning_of, bucket_of
from review.store.words import WordStore

ARCHIVE: Final = "analysis.zip"
_STOWED: Final = "stowed.txt"
_PARTS: Final = {"words": ".words", "seen": ".seen", "tracks": ""}
"""Folders of the archive, and how those in the home end. The tracks come last: who finds them finds the rest."""

_LONG_AGO: Final = (1980, 1, 1, 0, 0, 0)
COMING: Final = ".coming"
"""What the name of a folder ends with that is being brought back."""


def stow_tracks(home: Home, recording: Recording) -> bool:
    """Put what was seen and heard in a film into the bucket, unless it is there just so; tell whether it was put.

    Raises
    ------
    StoreBroken
        If the bucket cannot be used; what is in the home stays as it is.
    """
    bucket = bucket_of(home)
    state = _state(home, recording) if bucket else ""
    if bucket is None or not state:
        return False
    folder, place = media_folder(home, recording.sha256), f"{beginning_of(recording.sha256)}{ARCHIVE}"
    noted = folder / _STOWED
    if noted.is_file() and noted.read_text("utf-8") == state and bucket.find(place) is not None:
        return False
    with replacing(folder / ARCHIVE) as fresh:
        _pack(home, recording, fresh)
    bucket.put(folder / ARCHIVE, place)
    (folder / ARCHIVE).unlink(missing_ok=True)
    with replacing(noted) as fresh:
        fresh.write_text(state, "utf-8")
    return True


def bring_tracks(home: Home, recording: Recording) -> bool:
    """Bring back what was seen and heard in a film where the home has none of it; tell whether it was brought.

    Raises
    ------
    StoreBroken
        If the bucket cannot be used, or the archive is none.
    """
    if TrackStore(home, recording.id).exists():
        return False
    path = at_hand(home, f"{beginning_of(recording.sha256)}{ARCHIVE}")
    if not path.is_file():
        return False
    fresh = home.tracks / f"{recording.id}{COMING}"
    with locked(tracks_lock(home, recording.id)):
        shutil.rmtree(fresh, ignore_errors=True)
        _unpack(path, fresh)
        for part, ending in _PARTS.items():
            _move(fresh / part, home.tracks / f"{recording.id}{ending}")
        shutil.rmtree(fresh, ignore_errors=True)
        settle(home.tracks)
    path.unlink(missing_ok=True)
    return True


def withdraw_tracks(home: Home, recording: Recording) -> None:
    """Remove every version of what was seen and heard in a film from the bucket; what the home lost comes back first.

    For whoever then erases some of it in the home. The caller holds the film's lock, and may put the rest there again.

    Raises
    ------
    StoreBroken
        If the bucket cannot be used; nothing in the home was changed.
    """
    bucket, place = bucket_of(home), f"{beginning_of(recording.sha256)}{ARCHIVE}"
    bring_tracks(home, recording)
    if bucket is not None:
        bucket.erase(place)
    for name in (ARCHIVE, _STOWED):
        (media_folder(home, recording.sha256) / name).unlink(missing_ok=True)


def _state(home: Home, recording: Recording) -> str:
    """Return a text that changes whenever what would be put does; empty where there is nothing."""
    tracks = TrackStore(home, recording.id).version()
    seen = ",".join(sorted(SightingStore(home, recording.id).units()))
    return tracks and "\n".join((tracks, WordStore(home, recording.id).version(), seen))


def _pack(home: Home, recording: Recording, path: Path) -> None:
    """Write the archive; the same files make the same bytes."""
    lock = locked(tracks_lock(home, recording.id))
    with lock, zipfile.ZipFile(path, "x", zipfile.ZIP_STORED) as archive:
        for name, file in sorted(_files(home, recording)):
            with suppress(FileNotFoundError):  # written anew just now: the next time it is put as it is then
                archive.writestr(zipfile.ZipInfo(name, _LONG_AGO), file.read_bytes())


def _files(home: Home, recording: Recording) -> Iterator[tuple[str, Path]]:
    for part, ending in _PARTS.items():
        folder = home.tracks / f"{recording.id}{ending}"
        for path in folder.rglob("*"):
            inside = path.relative_to(folder)
            if path.is_file() and not any(name.startswith(".") for name in inside.parts):
                yield f"{part}/{inside.as_posix()}", path


def _unpack(path: Path, fresh: Path) -> None:
    try:
        with zipfile.ZipFile(path) as archive:
            archive.extractall(fresh)
    except (zipfile.BadZipFile, OSError) as error:
        shutil.rmtree(fresh, ignore_errors=True)
        raise StoreBroken(
            f"{path} does not hold what was seen and heard in a film ({error}); expected an archive that "
            "`runthrough bucket` put there. Remove it and analyse the film again."
        ) from error
    for one in sorted(fresh.rglob("*")):
        settle(one)


def _move(came: Path, place: Path) -> None:
    if came.is_dir():
        shutil.rmtree(place, ignore_errors=True)
        came.replace(place)
