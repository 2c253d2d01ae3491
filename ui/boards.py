"""Boards put together: here, or on a server in processes beside, so that whoever answers pages is free for marks.

What a board shows costs some 40 ms of computing and a score of questions to the database, after each of which a thread
waits for its turn at the interpreter. A process of its own has no turns to wait for.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from functools import lru_cache
from multiprocessing import get_context
from typing import Final

from review.actions.operations import acknowledged
from review.domain.model import Person
from review.pipeline.executors import Standby, follow_parent, step_back, usable_cores
from review.report.attempt import board
from review.store.database import Database, open_database
from review.store.home import Home
from review.store.repository import reading

PutTogether = Callable[[str, Person, str | None], bytes]
"""Returns the board of a recording for a person as JSON, with how far operations of a browser are in it."""

_AFTER: Final = 2
"""By how much boards come after what stores marks when both want to compute (`nice`)."""

_MOST: Final = 4
"""Processes; a half of the cores, but no more than these: the database is asked by all of them."""


def put_together(home: Home, database: Database, recording_id: str, person: Person, client: str | None) -> bytes:
    """Return the board of a recording as JSON, put together here.

    Parameters
    ----------
    home, database, recording_id, person
        Where, its database, which and for whom.
    client
        Browser of whose operations it tells how far they are in it; None for none.

    Raises
    ------
    NotFound
        If there is no such recording.
    NotAllowed
        If the person may not see it.
    """
    ack = 0
    if client is not None:
        with reading(database) as repo:
            ack = acknowledged(repo, person, client)
    found = board(home, recording_id, person, ack, database)
    return json.dumps(found, ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode()


class Boards(Standby):
    """Puts boards together in processes beside this one, which start when they are first needed.

    Parameters
    ----------
    home
        Whose boards.
    """

    def __init__(self, home: Home) -> None:
        super().__init__(lambda: ProcessPoolExecutor(at_once(), get_context("spawn"), _begin))
        self._home = home

    def __call__(self, recording_id: str, person: Person, client: str | None) -> bytes:
        """Return what `put_together` does, or raise what it raises; a process that ended is replaced once."""
        pool = self.here()
        try:
            return self._asked(pool, recording_id, person, client)
        except BrokenProcessPool:
            self.leave(pool)
            return self._asked(self.here(), recording_id, person, client)

    def _asked(self, pool: ProcessPoolExecutor, recording_id: str, person: Person, client: str | None) -> bytes:
        return pool.submit(_beside, self._home, recording_id, person, client).result()


def at_once() -> int:
    """Return how many boards are put together at once."""
    return max(1, min(_MOST, usable_cores() // 2))


def _begin() -> None:
    follow_parent()
    step_back(_AFTER)


def _beside(home: Home, recording_id: str, person: Person, client: str | None) -> bytes:
    return put_together(home, _opened(home), recording_id, person, client)


@lru_cache(maxsize=8)
def _opened(home: Home) -> Database:
    return open_database(home)
