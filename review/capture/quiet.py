"""Keep the chatter of native libraries off the terminal, and nothing else."""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Lock, Thread
from typing import Final

_CHATTER: Final = re.compile(
    rb"[WIE]\d{4} \d\d:\d\d:|INFO: |\[\w+\.cc:\d+\] |\s*$"
    rb"|WARNING: (\[\w+\.cc:\d+\]|All log messages before|Logging before|Attempting to use)"
)
"""How such lines begin; also without their level or empty, as when two threads wrote into each other's lines."""


@contextmanager
def quiet_native() -> Iterator[None]:
    """Drop the log lines that native libraries write to file descriptor 2; pass all other lines on at once.

    Several threads may be within such blocks at the same time; the descriptor is back to what it was when the last
    one leaves. It does nothing where there is no descriptor 2.
    """
    entered = _SIEVE.enter()
    try:
        yield
    finally:
        if entered:
            _SIEVE.leave()


class _Sieve:
    """A pipe in the place of descriptor 2, with a thread that passes on the lines to keep."""

    def __init__(self) -> None:
        self.lock = Lock()
        self.inside = 0
        self.terminal = -1
        self.thread: Thread | None = None

    def enter(self) -> bool:
        with self.lock:
            if self.inside == 0:
                try:
                    self.terminal = os.dup(2)
                except OSError:
                    return False
                _flush()
                out, into = os.pipe()
                os.dup2(into, 2)
                os.close(into)
                self.thread = Thread(target=_pass_on, args=(out, self.terminal), daemon=True)
                self.thread.start()
            self.inside += 1
            return True

    def leave(self) -> None:
        with self.lock:
            self.inside -= 1
            if self.inside == 0 and self.thread is not None:
                _flush()
                os.dup2(self.terminal, 2)
                self.thread.join()
                os.close(self.terminal)


_SIEVE: Final = _Sieve()


def _pass_on(out: int, terminal: int) -> None:
    with os.fdopen(out, "rb") as lines:
        for line in lines:
            if not _CHATTER.match(line):
                os.write(terminal, line)


def _flush() -> None:
    if sys.stderr is not None:
        sys.stderr.flush()
