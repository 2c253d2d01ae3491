"""Who was let in where a moment ago: open pages ask for the same again and again."""

from __future__ import annotations

import time
from collections.abc import Callable, Hashable
from typing import Final

from review.domain.model import Person

KEPT_S: Final = 2.0
"""For so long somebody may still come in after a right, or a login, was taken away by another process."""

_MOST: Final = 10_000


class Recent:
    """Remembers who was let in, for a moment, or until a request may have changed who may come where.

    What is behind a door asks again whether a person may see a recording, but for the text that changes when somebody
    says something of it.

    Parameters
    ----------
    now
        Clock, seconds.
    """

    def __init__(self, now: Callable[[], float] = time.monotonic) -> None:
        self._now = now
        self._let_in: dict[Hashable, tuple[float, Person]] = {}

    def person(self, key: Hashable) -> Person | None:
        """Return who was let in by this key a moment ago; None if nobody was."""
        until, person = self._let_in.get(key, (0.0, None))
        return person if until > self._now() else None

    def note(self, key: Hashable, person: Person) -> None:
        """Remember who was let in.

        Parameters
        ----------
        key
            All that it hung on: the login, and what was asked for.
        """
        if len(self._let_in) >= _MOST:
            self._let_in.clear()
        self._let_in[key] = (self._now() + KEPT_S, person)

    def forget(self) -> None:
        """Let everybody be asked again."""
        self._let_in.clear()
