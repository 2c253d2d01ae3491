"""Ctrl-C as a wish that is asked for, not an interruption wherever the work happens to be."""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType


@contextmanager
def ctrl_c() -> Iterator[Callable[[], bool]]:
    """Give a function that tells whether Ctrl-C was pressed since; a second press interrupts as usual.

    Interrupted anywhere, a transaction could be cut in the middle of being closed. Outside of the main thread, which
    alone hears of Ctrl-C, the function always says no.
    """
    presses: list[int] = []

    def press(number: int, frame: FrameType | None) -> None:
        if presses:
            raise KeyboardInterrupt
        presses.append(number)

    if threading.current_thread() is not threading.main_thread():
        yield lambda: False
        return
    before = signal.signal(signal.SIGINT, press)
    try:
        yield lambda: bool(presses)
    finally:
        signal.signal(signal.SIGINT, before)
