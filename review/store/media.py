"""Originals, and what was made of them: one folder a film, named by the film's SHA-256.

::

    media/<first two digits>/<sha256>/original.mp4     as it came, read-only
                                      playback.mp4     copy for the browser, where one is needed
                                      times.npy        presentation times of all frames, seconds
                                      masked/          copies with masked heads (`review.store.masked`)
                                      unfinished       empty; there while the film is added or erased
"""

from __future__ import annotations

import errno
import hashlib
import os
import re
import shutil
import stat
import sys
import time
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager, suppress
from pathlib import Path
from typing import Final
from uuid import uuid4

import numpy as np
import numpy.typing as npt

from review.domain.errors import FilmRefused, InputError, StoreBroken
from review.store.files import locked, replacing, settle
from review.store.home import Home
from review.store.room import FULL
from review.store.vault import at_hand, beginning_of

_SLICE_BYTES: Final = 4 * 1024 * 1024
_SPARE_BYTES: Final = 64 * 1024 * 1024
_FORGOTTEN_S: Final = 7 * 24 * 3600
_TIMES: Final = "times.npy"
_UNFINISHED: Final = "unfinished"


def media_folder(home: Home, sha256: str) -> Path:
    """Return the folder of a film's files; it exists once the original is kept.

    Raises
    ------
    StoreBroken
        If `sha256` is not a SHA-256 in lower-case hexadecimal digits.
    """
    if not re.fullmatch(r"[0-9a-f]{64}", sha256):
        raise StoreBroken(f"{sha256!r} came as a film's SHA-256; expected 64 digits 0-9, a-f. Add the film again.")
    return home.media / sha256[:2] / sha256


def find_original(home: Home, sha256: str) -> Path | None:
    """Return the kept original of a film, or None if there is none."""
    kept = sorted(media_folder(home, sha256).glob("original*"))
    return kept[0] if kept else None


def film_alone(home: Home, sha256: str) -> AbstractContextManager[None]:
    """Keep every other process and thread from adding or erasing the film with this SHA-256 meanwhile.

    A process that dies lets go. The few films whose names begin alike wait for one another.
    """
    return locked(film_lock(home, sha256))


def film_lock(home: Home, sha256: str) -> Path:
    """Return the file that `film_alone` locks; the start of the SHA-256 is enough."""
    return home.media / f".{sha256[:2]}.lock"


@contextmanager
def taking_in(home: Home, sha256: str) -> Iterator[None]:
    """Mark a film's folder as unfinished meanwhile; after an error nothing that came into it stays.

    The folder of a process that is killed inside stays marked, so that `review.store.leftovers.sweep` removes it. A
    film that lay there before without a recording, as after the loss of a database, stays whatever happens. The
    caller holds the film's lock.

    Raises
    ------
    InputError
        In place of a fault of the disk inside.
    """
    lay_there = find_original(home, sha256) is not None and not is_unfinished(home, sha256)
    set_unfinished(home, sha256)
    try:
        yield
    except BaseException as error:
        if lay_there:
            set_finished(home, sha256)
        else:
            erase_media(home, sha256)
        if isinstance(error, OSError) and error.errno is not None:
            raise disk_fault(home, error) from error
        raise
    set_finished(home, sha256)


def disk_fault(home: Home, error: OSError) -> InputError:
    """Return in plain words that the disk of a home did not take what was made of a film."""
    if error.errno in FULL:
        free = shutil.disk_usage(home.root).free
        return InputError(
            f"The disk with {home.root} became full while something was made of a film ({_megabytes(free)} are free). "
            "Nothing of it was kept; make room or name another home, then try again."
        )
    return InputError(
        f"A file could not be written in {home.media} ({error.strerror}); expected a disk in order. Nothing of it was "
        "kept; mend that, then try again."
    )


def is_unfinished(home: Home, sha256: str) -> bool:
    """Tell whether a film's folder is marked as being filled or emptied."""
    return (media_folder(home, sha256) / _UNFINISHED).exists()


def set_unfinished(home: Home, sha256: str) -> None:
    """Mark a film's folder, made if need be, as being filled or emptied; the mark is on the disk on return."""
    folder = media_folder(home, sha256)
    folder.mkdir(parents=True, exist_ok=True)
    (folder / _UNFINISHED).touch()
    settle(folder)


def set_finished(home: Home, sha256: str) -> None:
    """Take the mark of `set_unfinished` off; no fault if there is none."""
    (media_folder(home, sha256) / _UNFINISHED).unlink(missing_ok=True)


def keep_original(home: Home, source: Path, sha256: str) -> Path:
    """Copy a film into the home, once, and make the copy read-only.

    The copy is checked against `sha256` on the way and takes its name only when it is complete and on the disk. A film
    that arrived in the home's own folder of uploads is not copied: it gets a second name, and loses the first one when
    the upload is tidied away.

    Returns
    -------
    Path
        The kept file; the one already there if the same film was kept before.

    Raises
    ------
    InputError
        If there is no room for it or it cannot be read; nothing is left behind.
    FilmRefused
        If the file is not the one with this SHA-256, so that it changed since it was looked at.
    """
    kept = find_original(home, sha256)
    if kept is not None:
        return kept
    folder = media_folder(home, sha256)
    arriving = folder / f".original.{uuid4().hex}.part"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if not (arrived_here(home, source) and _linked(source, arriving)):
            _check_room(home, source)
            _copy(source, arriving, sha256)
        target = folder / f"original{_extension(source)}"
        arriving.replace(target)
    except OSError as error:
        raise _refusal(home, source, error) from error
    finally:
        arriving.unlink(missing_ok=True)
    target.chmod(stat.S_IREAD | stat.S_IRGRP | stat.S_IROTH)
    settle(folder)
    return target


def drop_original(home: Home, sha256: str) -> None:
    """Remove a kept original that is not whole any more; what was made of it stays."""
    for kept in media_folder(home, sha256).glob("original*"):
        kept.chmod(stat.S_IRWXU)
        kept.unlink()


def sweep_incoming(home: Home) -> None:
    """Remove what began to arrive and has not grown for a week: broken-off uploads."""
    oldest = time.time() - _FORGOTTEN_S
    for entry in sorted(home.incoming.iterdir()):
        with suppress(FileNotFoundError):  # it arrived, or another process swept it, just now
            newest = max(path.stat().st_mtime for path in [entry, *entry.rglob("*")])
            if newest < oldest and entry.is_dir():
                shutil.rmtree(entry)
            elif newest < oldest:
                entry.unlink()


def _extension(source: Path) -> str:
    suffix = source.suffix.lower()
    return suffix if re.fullmatch(r"\.[a-z0-9]{1,8}", suffix) else ""


def arrived_here(home: Home, film: Path) -> bool:
    """Tell whether a film lies in the home's own folder of uploads."""
    return home.incoming.resolve() in film.resolve().parents


def _linked(source: Path, target: Path) -> bool:
    """Give a file a second name, on the disk on return; not on file systems without, nor on Windows.

    Windows would refuse to take the first name away once the file is read-only.
    """
    if sys.platform == "win32":
        return False
    try:
        target.hardlink_to(source)
    except OSError:
        return False
    settle(target)
    return True


def _check_room(home: Home, source: Path) -> None:
    needed = source.stat().st_size + _SPARE_BYTES
    if shutil.disk_usage(home.media).free < needed:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def _copy(source: Path, target: Path, sha256: str) -> None:
    digest = hashlib.sha256()
    with source.open("rb") as film, target.open("xb") as copy:
        while piece := film.read(_SLICE_BYTES):
            digest.update(piece)
            copy.write(piece)
        copy.flush()
        os.fsync(copy.fileno())
    if digest.hexdigest() != sha256:
        raise FilmRefused(
            f"{source.name} changed while it was read: its SHA-256 is now {digest.hexdigest()[:12]}..., expected "
            f"{sha256[:12]}.... Wait until it is fully copied or recorded, then add it again."
        )


def _refusal(home: Home, source: Path, error: OSError) -> InputError:
    if error.errno in FULL:
        free = shutil.disk_usage(home.root).free
        return InputError(
            f"The disk with {home.root} is too full to keep {source.name}: {_megabytes(free)} are free, "
            f"{_megabytes(source.stat().st_size + _SPARE_BYTES)} are needed. Nothing was kept; make room or name "
            "another home, then add it again."
        )
    return InputError(
        f"{source.name} could not be kept in {home.media} ({error.strerror or error}); expected a file that can be "
        "read and a folder that can be written. Nothing was kept; mend that and add it again."
    )


def _megabytes(count: int) -> str:
    return f"{count / 1e6:.0f} MB"


def erase_media(home: Home, sha256: str) -> None:
    """Remove a film's original and everything in its folder; no fault if there is none."""
    folder = media_folder(home, sha256)
    if not folder.exists():
        return
    for path in folder.rglob("*"):
        path.chmod(stat.S_IRWXU)
    shutil.rmtree(folder)
    with suppress(OSError):  # another film's fingerprint begins alike
        folder.parent.rmdir()


def save_times(home: Home, sha256: str, times: npt.ArrayLike) -> None:
    """Keep the presentation times of all frames, shape ``(time,)``, seconds, as float64."""
    folder = media_folder(home, sha256)
    folder.mkdir(parents=True, exist_ok=True)
    with replacing(folder / _TIMES) as fresh, fresh.open("wb") as handle:
        np.save(handle, np.asarray(times, dtype=np.float64), allow_pickle=False)


def load_times(home: Home, sha256: str) -> npt.NDArray[np.float64]:
    """Return the kept presentation times of all frames, shape ``(time,)``, seconds.

    Raises
    ------
    StoreBroken
        If none are kept or the file cannot be read.
    """
    media_folder(home, sha256)
    path = at_hand(home, f"{beginning_of(sha256)}{_TIMES}")
    try:
        times = np.load(path, allow_pickle=False)
    except (OSError, ValueError, EOFError) as error:
        raise StoreBroken(
            f"The frame times in {path} cannot be read ({error}). They are made again from the original when the "
            "recording is opened on the page Review, or with: runthrough mend"
        ) from error
    return np.asarray(times, dtype=np.float64)
