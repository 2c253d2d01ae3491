"""What a page will show, begun as soon as its document is asked for: meanwhile the framework starts in the browser."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Hashable, Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress
from functools import partial
from typing import Any, Final, TypeVar

from review.domain.errors import RunthroughError
from review.domain.model import Person
from review.report.attempt import board
from review.report.cohort import cohort
from review.report.compare import compare
from review.report.progress import progress
from review.store.home import Home
from ui.acting import acting

T = TypeVar("T")

Report = Callable[..., dict[str, Any]]

FRESH_S: Final = 3.0
"""For so long what was begun ahead may be shown; a page that comes later is worked out anew."""

_MOST: Final = 8
"""So many are kept at a time: a document that nobody opens costs little."""


class Ahead:
    """Works out what pages will show before they ask, and hands each out once.

    Parameters
    ----------
    clock
        Tells the seconds of a clock that never goes back.
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._begun: dict[Hashable, tuple[float, Future[Any]]] = {}
        self._threads = ThreadPoolExecutor(1, thread_name_prefix="ahead")

    def begin(self, key: Hashable, work: Callable[[], object]) -> None:
        """Have something worked out.

        Parameters
        ----------
        key
            Says wholly what it is and for whom: whoever takes by an equal key is given it.
        work
            Works it out; what it raises, `take` raises.
        """
        with self._lock:
            self._drop_old()
            if key not in self._begun and len(self._begun) < _MOST:
                self._begun[key] = (self._clock(), self._threads.submit(work))

    def take(self, key: Hashable, work: Callable[[], T]) -> T:
        """Return what was begun by a key, once it is done; work it out here and now where nothing fresh was begun."""
        with self._lock:
            self._drop_old()
            _, begun = self._begun.pop(key, (0.0, None))
        if begun is None or begun.cancel():
            return work()
        found: T = begun.result()
        return found

    def _drop_old(self) -> None:
        oldest = self._clock() - FRESH_S
        for key in [key for key, (at, _) in self._begun.items() if at < oldest]:
            self._begun.pop(key)[1].cancel()


AHEAD: Final = Ahead()
"""Of this server."""


def _board(home: Home, person: Person, recording: str | None) -> dict[str, Any]:
    return board(home, recording or "", person)


_REPORTS: Final[Mapping[str, tuple[Report, tuple[str, ...]]]] = {
    "/review": (_board, ("recording",)),
    "/compare": (compare, ("learner", "checklist", "recording")),
    "/progress": (progress, ("learner", "checklist")),
    "/class": (cohort, ()),
}
"""What is worked out for a page, and which parts of its address say of what, by the page's address."""


def parts_of(path: str) -> tuple[str, ...]:
    """Return the parts of a page's address that say what it shows: of ``learner``, ``checklist`` and ``recording``."""
    return _REPORTS[path][1]


def begin_page(home: Home, path: str, query: Mapping[str, str]) -> None:
    """Begin what a page will show, if that takes long; whoever may not see it is told so by the page itself."""
    report, parts = _REPORTS.get(path, (None, ()))
    if report is None or (path == "/review" and not query.get("recording")):
        return
    with suppress(RunthroughError):
        person = acting(home, query.get("as"))
        asked = {part: query.get(part) for part in parts}
        AHEAD.begin(_key(home, person, path, asked), partial(report, home, person, **asked))


def page_report(home: Home, person: Person, path: str, **asked: str | None) -> dict[str, Any]:
    """Return what a page shows: as it was begun with the page's document, else worked out now.

    Parameters
    ----------
    home, person
        Where and for whom.
    path
        The page's address: ``/review``, ``/compare``, ``/progress`` or ``/class``.
    asked
        Each of `parts_of` the page, by name.
    """
    return AHEAD.take(_key(home, person, path, asked), partial(_REPORTS[path][0], home, person, **asked))


def _key(home: Home, person: Person, path: str, asked: Mapping[str, str | None]) -> Hashable:
    return str(home.root), person.id, path, tuple(sorted(asked.items()))
