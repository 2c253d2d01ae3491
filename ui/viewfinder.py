"""The framing check of an open camera, in a process of its own that starts with the first picture."""

from __future__ import annotations

import asyncio
from concurrent.futures import BrokenExecutor
from typing import Final

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from review.capture.framing import View, framing
from review.domain.errors import EntryRefused
from review.pipeline.executors import Standby, local_pool

LARGEST_BYTES: Final = 1 << 20


class Viewfinder(Standby):
    """Answers the pictures of an open camera; the process that looks at them ends when it is closed."""

    def __init__(self) -> None:
        super().__init__(lambda: local_pool(1))

    async def check(self, request: Request) -> Response:
        """Answer a JPEG picture with sentences; 503 and one sentence if the checking process ended."""
        view: View = "face" if request.query_params.get("view") == "face" else "body"
        body = bytearray()
        async for piece in request.stream():
            body += piece
            if len(body) > LARGEST_BYTES:
                raise EntryRefused("A picture of at most 1 MiB was expected. Reload the page.")
        pool = self.here()
        try:
            said = await asyncio.get_running_loop().run_in_executor(pool, framing, bytes(body), view)
        except BrokenExecutor:
            self.leave(pool)
            return JSONResponse({"message": "The framing check ended by itself and starts anew; filming goes on."}, 503)
        return JSONResponse({"said": list(said)}, headers={"Cache-Control": "no-cache"})
