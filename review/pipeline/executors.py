"""The door through which chunks are computed: any `concurrent.futures.Executor`."""

from __future__ import annotations

import os
import signal
from concurrent.futures import Executor, ProcessPoolExecutor
from multiprocessing import get_context, parent_process
from threading import Thread

from review.capture.bounds import bound_memory, memory_here
from review.pipeline.memory import keep_small


def usable_cores() -> int:
    """Return how many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def local_pool(processes: int | None = None) -> Executor:
    """Make a pool of fresh worker processes on this machine.

    Workers are spawned, not forked (the landmark models keep threads that do not survive a fork). They leave Ctrl-C
    to the parent, which decides what stops, and end when the parent does, however it ended. None takes more memory
    than one film may need (`review.capture.bounds`), and when the machine runs out of it, they end first.
    """
    count = processes or usable_cores()
    return ProcessPoolExecutor(count, mp_context=get_context("spawn"), initializer=_follow_parent)


def _follow_parent() -> None:
    keep_small()
    bound_memory(memory_here())
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
