"""What processes that were killed left behind: found, and removed where nobody is at it any more."""

from __future__ import annotations

import re
import shutil
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Final

from review.domain.errors import StoreBroken
from review.store.erasing import erase_tracks
from review.store.files import locked_if_free
from review.store.home import Home
from review.store.media import erase_media, film_lock, find_original, is_unfinished, set_finished, sweep_incoming
from review.store.repository import reading
from review.store.track_vault import COMING
from review.store.trackstore import tracks_lock
from review.store.vault import erase_stowed

_STALE_S: Final = 3600.0
_HALVES: Final = (".new", ".gone", COMING)


def sweep(home: Home) -> None:
    """Remove what is of no recording and never will be, and finish what was being erased.

    These go: uploads that have not grown for a week; the folder of a film that was being added or erased when its
    process was killed; half-written files beside a film; tracks of no recording. What another process is at just now
    stays, and so does a whole film that no recording knows: a lost database must not take the films with it.
    """
    sweep_incoming(home)
    for folder in sorted(home.media.glob("[0-9a-f][0-9a-f]/*")):
        if re.fullmatch(r"[0-9a-f]{64}", folder.name) and _is_suspect(home, folder):
            with locked_if_free(film_lock(home, folder.name)) as free:
                if free:
                    _tidy(home, folder)
    _sweep_tracks(home)


def _is_suspect(home: Home, folder: Path) -> bool:
    unfinished = is_unfinished(home, folder.name) or find_original(home, folder.name) is None
    return unfinished or any(_parts(folder))


def _parts(folder: Path) -> Iterator[Path]:
    """Yield files that were not finished; of those made without the film's lock (stills, masked copies) old ones."""
    yield from folder.glob(".*.part")
    oldest = time.time() - _STALE_S
    for path in (*folder.glob("stills/*.part"), *folder.glob("masked/.*.part")):
        with suppress(FileNotFoundError):
            if path.stat().st_mtime < oldest:
                yield path


def _tidy(home: Home, folder: Path) -> None:
    """Clean one film's folder; its lock is held."""
    sha256 = folder.name
    with reading(home) as repo:
        recording = repo.recording_of(sha256)
    if recording is None and (is_unfinished(home, sha256) or find_original(home, sha256) is None):
        with suppress(StoreBroken):  # where the bucket is out of reach the mark stays for the next sweep
            if is_unfinished(home, sha256):
                erase_stowed(home, sha256)
            erase_tracks(home, sha256[:12])
            erase_media(home, sha256)
        return
    for path in _parts(folder):
        path.unlink(missing_ok=True)
    if recording is not None:
        set_finished(home, sha256)


def _sweep_tracks(home: Home) -> None:
    for folder in [path for path in home.tracks.iterdir() if path.suffix in _HALVES]:
        with locked_if_free(tracks_lock(home, folder.stem)) as free:
            if free:
                with suppress(FileNotFoundError):  # somebody was faster
                    shutil.rmtree(folder)
    names = {path.name.split(".")[0] for path in home.tracks.iterdir() if path.is_dir()}
    for name in sorted(names - _known(home)):
        with locked_if_free(film_lock(home, name)) as free:
            if free and name not in _known(home) and not any(home.media.glob(f"{name[:2]}/{name}*")):
                erase_tracks(home, name)


def _known(home: Home) -> set[str]:
    with reading(home) as repo:
        return {recording.id for recording in repo.recordings()}
