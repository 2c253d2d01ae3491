"""What all that answers the browser shares: handlers on threads of their own, and what may be kept of an answer."""

from __future__ import annotations

import json
from collections.abc import Awaitable, Callable
from typing import Any, Final

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from review.domain.errors import EntryRefused

ASK_AGAIN: Final = {"Cache-Control": "no-cache"}

Handler = Callable[[Request], Awaitable[Response]]


def threaded(handler: Callable[[Request], Response]) -> Handler:
    """Have a handler that reads files or the database run on a thread, so that nobody waits for it."""

    async def run(request: Request) -> Response:
        return await run_in_threadpool(handler, request)

    return run


def json_object(content: bytes) -> dict[str, Any]:
    """Return the JSON object that a page sent; an empty one for nothing.

    Raises
    ------
    EntryRefused
        If it is something else.
    """
    try:
        found = json.loads(content or b"{}")
    except ValueError as error:
        raise EntryRefused("A JSON object was expected. Reload the page and try again.") from error
    if not isinstance(found, dict):
        raise EntryRefused("A JSON object was expected. Reload the page and try again.")
    return found
