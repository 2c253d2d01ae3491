"""The door through which chunks are computed: any `concurrent.futures.Executor`."""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Callable
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import suppress
from multiprocessing import get_context, parent_process
from threading import Lock, Thread
from typing import Any, Final, TypeVar

from review.capture.bounds import bound_memory, memory_here
from review.capture.confined import confine
from review.pipeline.memory import keep_small, without

Came = TypeVar("Came")

_SWITCH_S: Final = 0.0005
"""How long a thread of a worker may keep Python from the others, seconds.

A worker's threads hand frames to each other and to the models' own threads, hundreds of times a second, and each
hand-over waits for up to this long. On two cores body and face went from 38-54 frames a second with Python's own 5 ms
to 51-69 with 1 ms and 57-71 with 0.2 ms.
"""


def usable_cores() -> int:
    """Return how many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


class LocalPool(ProcessPoolExecutor):
    """Worker processes on this machine."""

    def submit_apart(self, fn: Callable[[Any], Came], order: Any) -> Future[Came]:
        """Have one unit done by a worker of its own, which ends with it and takes along all that it had loaded."""
        pool = local_pool(1)
        done = pool.submit(fn, order)
        pool.shutdown(wait=False)
        return done


class Standby:
    """Worker processes that start when they are first needed, and are others once they died; for several threads.

    Parameters
    ----------
    make
        Makes them.
    """

    def __init__(self, make: Callable[[], ProcessPoolExecutor]) -> None:
        self._make = make
        self._starting = Lock()
        self._pool: ProcessPoolExecutor | None = None

    def close(self) -> None:
        """End the processes, if there are any."""
        with self._starting:
            pool, self._pool = self._pool, None
        if pool is not None:
            pool.shutdown(cancel_futures=True)

    def here(self) -> ProcessPoolExecutor:
        """Return them, started if there are none."""
        with self._starting:
            if self._pool is None:
                self._pool = self._make()
            return self._pool

    def leave(self, pool: ProcessPoolExecutor) -> None:
        """Have others started for those that died."""
        with self._starting:
            if self._pool is pool:
                self._pool = None


def step_back(places: int) -> None:
    """Have this process compute after others that want to, by so much of the system's scale (`nice`)."""
    if hasattr(os, "nice"):
        with suppress(OSError):
            os.nice(places)


def local_pool(processes: int | None = None) -> LocalPool:
    """Make a pool of fresh worker processes on this machine.

    Workers are spawned, not forked (the landmark models keep threads that do not survive a fork). They leave Ctrl-C
    to the parent, which decides what stops, and end when the parent does, however it ended. None takes more memory
    than one film may need (`review.capture.bounds`), and when the machine runs out of it, they end first; none reaches
    the network (`review.capture.confined`).
    """
    count = processes or usable_cores()
    return LocalPool(count, mp_context=get_context("spawn"), initializer=be_worker)


def be_worker() -> None:
    """Make this process a worker: small, bounded, off the network, quick to change threads, ending with its parent."""
    keep_small()
    without("pyarrow")
    sys.setswitchinterval(_SWITCH_S)
    bound_memory(memory_here())
    confine()
    follow_parent()


def follow_parent() -> None:
    """Have this process end when its parent does, however that ended, and leave Ctrl-C to it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
