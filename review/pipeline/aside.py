"""Pictures of films made in a process beside this one: bounded, off the network, and after whatever else computes."""

from __future__ import annotations

import gc
from collections.abc import Sequence
from concurrent.futures.process import BrokenProcessPool
from functools import cache, partial
from pathlib import Path
from typing import Final

from review.capture.intake import stills
from review.domain.errors import FilmRefused
from review.pipeline.executors import Standby, local_pool, step_back
from review.pipeline.memory import give_back

_AFTER: Final = 5
"""By how much what makes pictures comes after others who want to compute (`nice`)."""


class Aside(Standby):
    """Makes pictures as `review.capture.intake.stills` does, in a process that starts when it is first needed.

    Whoever answers pages has its interpreter to itself then, and a crafted film can end that process only; the next
    who asks gets a new one. May be used from several threads at once.
    """

    def __init__(self) -> None:
        super().__init__(partial(local_pool, 1))

    def __call__(self, path: Path, times_s: Sequence[float], height_px: int, mirrored: bool) -> list[bytes]:
        """Return the pictures of a film at some times, in their order.

        Raises
        ------
        FilmRefused
            If it cannot be read, or the process ended at it.
        """
        pool = self.here()
        try:
            return pool.submit(_made, path, list(times_s), height_px, mirrored).result()
        except BrokenProcessPool as error:
            self.leave(pool)
            raise FilmRefused(
                f"The pictures of {path.name} could not be made: what reads the film ended at it. Look at another "
                "moment; if that is of no use either, the film is damaged."
            ) from error


def _made(path: Path, times_s: Sequence[float], height_px: int, mirrored: bool) -> list[bytes]:
    _begin()
    try:
        return stills(path, times_s, height_px, mirrored)
    finally:
        give_back()  # else decoders stay until there is garbage enough: 250 MB where 90 do


@cache
def _begin() -> None:
    """Once in a process: let others compute first, and look for garbage only among what is made from now on."""
    gc.collect()
    gc.freeze()
    step_back(_AFTER)
