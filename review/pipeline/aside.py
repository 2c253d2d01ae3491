"""Pictures of films made in a process beside this one: bounded, off the network, and after whatever else computes."""

from __future__ import annotations

import gc
import os
import threading
from collections.abc import Sequence
from concurrent.futures import Executor
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import Final

from review.capture.intake import stills
from review.domain.errors import FilmRefused
from review.pipeline.executors import local_pool
from review.pipeline.memory import give_back

_AFTER: Final = 5
"""By how much what makes pictures comes after others who want to compute (`nice`)."""


class Aside:
    """Makes pictures as `review.capture.intake.stills` does, in a process that starts when it is first needed.

    Whoever answers pages has its interpreter to itself then, and a crafted film can end that process only; the next
    who asks gets a new one. May be used from several threads at once.
    """

    def __init__(self) -> None:
        self._starting = threading.Lock()
        self._pool: Executor | None = None

    def __call__(self, path: Path, times_s: Sequence[float], height_px: int, mirrored: bool) -> list[bytes]:
        """Return the pictures of a film at some times, in their order.

        Raises
        ------
        FilmRefused
            If it cannot be read, or the process ended at it.
        """
        pool = self._here()
        try:
            return pool.submit(_made, path, list(times_s), height_px, mirrored).result()
        except BrokenProcessPool as error:
            with self._starting:
                if self._pool is pool:
                    self._pool = None
            raise FilmRefused(
                f"The pictures of {path.name} could not be made: what reads the film ended at it. Look at another "
                "moment; if that is of no use either, the film is damaged."
            ) from error

    def close(self) -> None:
        """End the process, if there is one."""
        with self._starting:
            pool, self._pool = self._pool, None
        if pool is not None:
            pool.shutdown(cancel_futures=True)

    def _here(self) -> Executor:
        with self._starting:
            if self._pool is None:
                self._pool = local_pool(1)
            return self._pool


def _made(path: Path, times_s: Sequence[float], height_px: int, mirrored: bool) -> list[bytes]:
    _step_back()
    try:
        return stills(path, times_s, height_px, mirrored)
    finally:
        give_back()  # else decoders stay until there is garbage enough: 250 MB where 90 do


@cache
def _step_back() -> None:
    """Once in a process: let others compute first, and look for garbage only among what is made from now on."""
    gc.collect()
    gc.freeze()
    if hasattr(os, "nice"):
        with suppress(OSError):
            os.nice(_AFTER)
