"""What all that answers the browser shares: handlers on threads of their own, and what may be kept of an answer."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import Final

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

ASK_AGAIN: Final = {"Cache-Control": "no-cache"}

Handler = Callable[[Request], Awaitable[Response]]


def threaded(handler: Callable[[Request], Response]) -> Handler:
    """Have a handler that reads files or the database run on a thread, so that nobody waits for it."""

    async def run(request: Request) -> Response:
        return await run_in_threadpool(handler, request)

    return run
