"""Writing files so that a crash leaves either the old state or the new one."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from uuid import uuid4

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl


def settle(path: Path) -> None:
    """Make the system write a file, or a folder's list of names, to the disk now.

    Windows offers no way to settle a folder; there nothing is done for one.
    """
    if path.is_dir():
        if sys.platform == "win32":
            return
        flags = os.O_RDONLY
    else:
        flags = os.O_RDWR
    handle = os.open(path, flags)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


@contextmanager
def replacing(path: Path) -> Iterator[Path]:
    """Give a new name beside `path` to write to; on leaving it takes the place of `path` in one move.

    After an error the new file is removed and `path` is as it was.
    """
    fresh = path.with_name(f".{path.name}.{uuid4().hex}.part")
    try:
        yield fresh
        settle(fresh)
        fresh.replace(path)
    except BaseException:
        fresh.unlink(missing_ok=True)
        raise
    settle(path.parent)


@contextmanager
def locked(path: Path) -> Iterator[None]:
    """Hold an exclusive lock between processes and threads; a process that dies lets go of it."""
    with path.open("ab") as handle:
        _take(handle.fileno())
        try:
            yield
        finally:
            _let_go(handle.fileno())


@contextmanager
def locked_if_free(path: Path) -> Iterator[bool]:
    """Hold the lock of `locked` if nobody else does, and tell whether it is held."""
    with path.open("ab") as handle:
        held = _take_if_free(handle.fileno())
        try:
            yield held
        finally:
            if held:
                _let_go(handle.fileno())


if sys.platform == "win32":

    def _take(number: int) -> None:
        while True:
            try:
                os.lseek(number, 0, os.SEEK_SET)
                msvcrt.locking(number, msvcrt.LK_LOCK, 1)
            except OSError:  # gives up after ten tries of a second each
                continue
            return

    def _take_if_free(number: int) -> bool:
        try:
            os.lseek(number, 0, os.SEEK_SET)
            msvcrt.locking(number, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

    def _let_go(number: int) -> None:
        os.lseek(number, 0, os.SEEK_SET)
        msvcrt.locking(number, msvcrt.LK_UNLCK, 1)

else:

    def _take(number: int) -> None:
        fcntl.flock(number, fcntl.LOCK_EX)

    def _take_if_free(number: int) -> bool:
        try:
            fcntl.flock(number, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True

    def _let_go(number: int) -> None:
        fcntl.flock(number, fcntl.LOCK_UN)
