"""The framing check of an open camera, in a process of its own that starts with the first picture."""

from __future__ import annotations

import asyncio
from concurrent.futures import BrokenExecutor, Executor
from typing import Final

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from review.capture.framing import View, framing
from review.domain.errors import EntryRefused
from review.pipeline.executors import local_pool

LARGEST_BYTES: Final = 1 << 20


class Viewfinder:
    """Answers the pictures of an open camera."""

    def __init__(self) -> None:
        self._pool: Executor | None = None

    async def check(self, request: Request) -> Response:
        """Answer a JPEG picture with sentences; 503 and one sentence if the checking process ended."""
        view: View = "face" if request.query_params.get("view") == "face" else "body"
        body = bytearray()
        async for piece in request.stream():
            body += piece
            if len(body) > LARGEST_BYTES:
                raise EntryRefused("A picture of at most 1 MiB was expected. Reload the page.")
        try:
            if self._pool is None:
                self._pool = local_pool(1)
            said = await asyncio.get_running_loop().run_in_executor(self._pool, framing, bytes(body), view)
        except BrokenExecutor:
            self._pool = None
            return JSONResponse({"message": "The framing check ended by itself and starts anew; filming goes on."}, 503)
        return JSONResponse({"said": list(said)}, headers={"Cache-Control": "no-cache"})
