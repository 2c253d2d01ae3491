"""Files of an attempt for the browser: what can be downloaded, and what is read in again."""

from __future__ import annotations

from typing import Final
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from review.actions.reading_back import LARGEST_BYTES, ReadBack, read_back
from review.report import recordings
from review.report.exports import EXPORTS, export
from ui.answering import Answers

NEVER_KEPT: Final = {"Cache-Control": "no-store"}

SHOWN: Final = frozenset({"print"})
"""Kinds that the browser shows rather than stores."""

LONGEST_NAME: Final = 120


class Exports(Answers):
    """Answers for one home.

    Parameters
    ----------
    home
        Whose attempts.
    """

    def kinds(self, request: Request) -> Response:
        """Answer with the kinds of files there are: ``[{"kind", "words", "shown"}]``."""
        told = [{"kind": kind, "words": of.words, "shown": kind in SHOWN} for kind, of in EXPORTS.items()]
        return JSONResponse(told, headers=NEVER_KEPT)

    def file(self, request: Request) -> Response:
        """Answer with a file; what is covered for the acting person is not in it."""
        person = self._person(request)
        kind = request.path_params["kind"]
        recording = recordings.find(self._home, person, request.path_params["id"])
        made = export(self._home, person, recording, kind, str(request.base_url))
        self._trail.took_out(person, recording, f"file: {kind}")
        place = "inline" if kind in SHOWN else "attachment"
        named = {"Content-Disposition": f'{place}; filename="{made.name}"'}
        return Response(made.body, media_type=made.media_type, headers={**NEVER_KEPT, **named})

    async def take(self, request: Request) -> Response:
        """Read the person's own marks and comments in from the request's body; its name is asked for as ``name``."""
        body = bytearray()
        async for part in request.stream():
            body += part
            if len(body) > LARGEST_BYTES:
                break
        done = await run_in_threadpool(self._read, request, bytes(body))
        return JSONResponse({"told": done.sentences()}, headers=NEVER_KEPT)

    def _read(self, request: Request, body: bytes) -> ReadBack:
        person = self._person(request)
        recording = recordings.find(self._home, person, request.path_params["id"])
        name = quote(request.query_params.get("name", "file")[:LONGEST_NAME], safe=" -_.()")
        return read_back(self._home, person, recording, name, body)
