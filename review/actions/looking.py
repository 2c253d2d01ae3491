"""Keeping the trail of who saw what: one line a person, recording and hour, however often it was asked for."""

from __future__ import annotations

import threading
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from typing import Final

from review.access import Deed
from review.domain.errors import RunthroughError
from review.domain.model import Person, Recording
from review.store.database import Database, open_database
from review.store.home import Home
from review.store.repository import reading, repository

AGAIN_AFTER: Final = timedelta(hours=1)
"""How long the same look counts as one."""

_MOST_KNOWN: Final = 4096


class Trail:
    """Notes looks at the recordings of one home; what it noted last it knows by heart, so that most cost nothing.

    Parameters
    ----------
    home
        Where.
    """

    def __init__(self, home: Home | Database) -> None:
        self._home = home
        self._known: dict[tuple[str, str, str, str], datetime] = {}
        self._lock = threading.Lock()

    def saw(self, person: Person, recording: Recording, deed: Deed, what: str = "") -> None:
        """Note that somebody saw a recording of somebody else's; one's own seeing is no news and is not noted."""
        if person.id != recording.added_by:
            self._note((person.id, recording.id, str(deed), what))

    def took_out(self, person: Person, recording: Recording, what: str) -> None:
        """Note that somebody had a file made of a recording, one's own too: it can leave the machine."""
        self._note((person.id, recording.id, str(Deed.SEE), what))

    def _note(self, line: tuple[str, str, str, str]) -> None:
        now = datetime.now(UTC)
        with self._lock:
            if now - self._known.get(line, datetime.min.replace(tzinfo=UTC)) < AGAIN_AFTER:
                return
            if len(self._known) >= _MOST_KNOWN:
                self._known.clear()
            self._known[line] = now
        try:
            self._store(line, now)
        except RunthroughError:
            with self._lock:
                self._known.pop(line, None)
            raise

    def _store(self, line: tuple[str, str, str, str], now: datetime) -> None:
        with reading(self._home) as repo:
            if repo.looks().since(*line, now - AGAIN_AFTER):
                return
        with repository(self._home) as repo:
            repo.looks().note(*line, True, now)


@lru_cache(maxsize=8)
def trail_of(home: Home) -> Trail:
    """Return the one trail of a home that all pages and routes of this process share."""
    return Trail(open_database(home))
