"""What all that answers the browser shares: handlers on threads of their own, and what may be kept of an answer."""

from __future__ import annotations

import json
from collections.abc import Awaitable, Callable
from functools import cached_property
from typing import Any, Final

from anyio import CapacityLimiter, to_thread
from starlette.requests import Request
from starlette.responses import Response

from review.actions.looking import Trail, trail_of
from review.domain.errors import EntryRefused
from review.domain.model import Person
from review.store.database import Database, open_database
from review.store.home import Home
from ui.acting import acting

ASK_AGAIN: Final = {"Cache-Control": "no-cache"}

Handler = Callable[[Request], Awaitable[Response]]


class Answers:
    """Answers of one home: what they ask of it, where they note who saw what, and who asks.

    Parameters
    ----------
    home
        Which home.
    """

    def __init__(self, home: Home) -> None:
        self._home = home

    @cached_property
    def _database(self) -> Database:
        return open_database(self._home)

    @property
    def _trail(self) -> Trail:
        return trail_of(self._home)

    def _person(self, request: Request) -> Person:
        return acting(self._home, request.query_params.get("as"))


QUICK: Final = 2
"""Threads that do at once what open pages ask for again and again: more of them only take turns at the interpreter, and
everybody waits for all of them (with 20 pages 4 s for a mark, with few of them 0.3 s)."""

GONE: Final = 499
"""Status for whoever left before there was an answer; nobody sees it."""


def threaded(handler: Callable[[Request], Response], limiter: CapacityLimiter | None = None) -> Handler:
    """Have a handler that reads files or the database run on a thread, so that nobody waits for it.

    With a limiter, no more handlers than it lets run at once with those that share it, and nothing is done any more for
    who left while waiting for a turn; without one, as many as the server has threads.
    """

    async def run(request: Request) -> Response:
        if limiter is None:
            return await to_thread.run_sync(handler, request)
        async with limiter:
            if await request.is_disconnected():
                return Response(status_code=GONE)
            return await to_thread.run_sync(handler, request)

    return run


MOST_SAID: Final = 4 * 2**20
"""Bytes that a page says at once at most; a checklist of hundreds of steps has a tenth of it."""


async def said_in(request: Request, again: str = "try again") -> dict[str, Any]:
    """Return the JSON object in the body of a request, as `json_object` reads it.

    Parameters
    ----------
    request
        Whose body.
    again
        What to do once the page was loaded anew, if it is refused.

    Raises
    ------
    EntryRefused
        If it is something else, or more than `MOST_SAID` bytes; no more than these are held.
    """
    content = bytearray()
    async for part in request.stream():
        content += part
        if len(content) > MOST_SAID:
            raise EntryRefused(
                f"More than {MOST_SAID >> 20} MiB came at once, more than a page says. Nothing was changed; reload it."
            )
    return json_object(bytes(content), again)


def json_object(content: bytes, again: str = "try again") -> dict[str, Any]:
    """Return the JSON object that a page sent; an empty one for nothing.

    Raises
    ------
    EntryRefused
        If it is something else.
    """
    try:
        found = json.loads(content or b"{}")
    except ValueError as error:
        raise EntryRefused(f"A JSON object was expected. Reload the page and {again}.") from error
    if not isinstance(found, dict):
        raise EntryRefused(f"A JSON object was expected. Reload the page and {again}.")
    return found
