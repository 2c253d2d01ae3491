"""Who was let in to the state of a recording a moment ago: every open page asks for it again and again."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Final

from starlette.datastructures import Headers
from starlette.types import Message, Scope, Send

STATE: Final = "/api/version/"
DEEDS: Final = "/api/deeds/"
"""What is stored there opens or closes no recording but that which an exemplar was made of."""

KEPT_S: Final = 2.0
"""For so long one may still hear that something changed after a right was taken away elsewhere, or an exemplar off."""

_MOST: Final = 10_000
READING: Final = frozenset({"GET", "HEAD", "OPTIONS"})

_Key = tuple[str, str, bytes, str]


class Recent:
    """Remembers requests for a state that were answered, until a request may have changed who sees what.

    Only that of which nobody learns what was said is told so: a text that changes when somebody says something.

    Parameters
    ----------
    now
        Clock, seconds.
    """

    def __init__(self, now: Callable[[], float] = time.monotonic) -> None:
        self._now = now
        self._until: dict[_Key, float] = {}

    def recording(self, scope: Scope) -> str | None:
        """Return the id of the recording whose state is asked for by who got it a moment ago; None otherwise."""
        if scope["type"] != "http":
            return None
        if scope["method"] not in READING and not str(scope["path"]).startswith(DEEDS):
            self._until.clear()
        if not _for_state(scope) or self._until.get(_key(scope), 0.0) <= self._now():
            return None
        return str(scope["path"]).removeprefix(STATE)

    def watched(self, scope: Scope, send: Send) -> Send:
        """Return what sends an answer, and remembers a state that was told."""
        if not _for_state(scope):
            return send

        async def sent(message: Message) -> None:
            if message["type"] == "http.response.start" and message["status"] == 200:
                if len(self._until) >= _MOST:
                    self._until.clear()
                self._until[_key(scope)] = self._now() + KEPT_S
            await send(message)

        return sent


def _for_state(scope: Scope) -> bool:
    return scope["type"] == "http" and scope["method"] == "GET" and str(scope["path"]).startswith(STATE)


def _key(scope: Scope) -> _Key:
    asked = str(scope.get("scheme", "")), str(scope["path"]), bytes(scope.get("query_string", b""))
    return *asked, Headers(scope=scope).get("cookie", "")
