"""What the server answers of captions: the track, the list, corrections, a file that is read in, words sought."""

from __future__ import annotations

from typing import Any, Final
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from review.actions.captions import LARGEST_BYTES, as_heard, correct, read_in
from review.domain.errors import EntryRefused
from review.domain.model import Person
from review.report.captions import captions, captions_told
from review.report.comment_track import comment_track
from review.report.word_search import find_words
from review.store.home import Home
from review.store.repository import repository
from ui.acting import acting
from ui.answering import ASK_AGAIN, Handler, said_in, threaded

LONGEST_NAME: Final = 120


class Captions:
    """Answers of one home."""

    def __init__(self, home: Home) -> None:
        self._home = home

    def table(self) -> list[tuple[str, Handler, list[str]]]:
        """Return addresses, what answers them, and by which method."""
        return [
            ("/api/captions/{id}.vtt", threaded(self.track), ["GET"]),
            ("/api/comments/{id}.vtt", threaded(self.comments), ["GET"]),
            ("/api/captions/{id}", threaded(self.told), ["GET"]),
            ("/api/captions/{id}/correct", self.correct, ["POST"]),
            ("/api/captions/{id}/file", self.take, ["POST"]),
            ("/api/words", threaded(self.words), ["GET"]),
        ]

    def track(self, request: Request) -> Response:
        """Answer with what is said as WebVTT captions."""
        told = captions(self._home, self._person(request), request.path_params["id"])
        return Response(told, media_type="text/vtt", headers=ASK_AGAIN)

    def comments(self, request: Request) -> Response:
        """Answer with the comments that are not covered as WebVTT."""
        told = comment_track(self._home, self._person(request), request.path_params["id"])
        return Response(told, media_type="text/vtt", headers=ASK_AGAIN)

    def told(self, request: Request) -> Response:
        """Answer with the captions, and where the words ``q`` are in them, as `captions_told` says."""
        wanted = request.query_params.get("q", "")
        return self._answer(self._person(request), request.path_params["id"], wanted)

    def words(self, request: Request) -> Response:
        """Answer with where the words ``q`` are said in all films, or those of ``whose``, as `find_words` says."""
        asked = request.query_params
        told = find_words(self._home, self._person(request), asked.get("q", ""), asked.get("whose"))
        return JSONResponse(told, headers=ASK_AGAIN)

    async def correct(self, request: Request) -> Response:
        """Correct a caption, or have what was heard stand again if no ``text`` came; answer as `told` does."""
        said = await said_in(request)
        return await run_in_threadpool(self._correct, request, said)

    def _correct(self, request: Request, said: dict[str, Any]) -> Response:
        person, recording_id = self._person(request), request.path_params["id"]
        correction_id, seen, text = str(said.get("id")), _whole(said.get("revision")), said.get("text")
        with repository(self._home) as repo:
            if text is None:
                as_heard(repo, person, recording_id, correction_id, seen)
            else:
                seconds = _seconds(said.get("onset_s")), _seconds(said.get("offset_s"))
                correct(repo, person, recording_id, correction_id, seen, seconds, str(text))
        return self._answer(person, recording_id, request.query_params.get("q", ""))

    async def take(self, request: Request) -> Response:
        """Read captions in from the request's body; ``replaces`` is 1 if corrections may give way to it."""
        body = bytearray()
        async for part in request.stream():
            body += part
            if len(body) > LARGEST_BYTES:
                break
        told = await run_in_threadpool(self._take, request, bytes(body))
        return JSONResponse({"told": told}, headers=ASK_AGAIN)

    def _take(self, request: Request, body: bytes) -> list[str]:
        asked = request.query_params
        name = quote(asked.get("name", "file")[:LONGEST_NAME], safe=" -_.()")
        person = self._person(request)
        return read_in(self._home, person, request.path_params["id"], name, body, asked.get("replaces") == "1")

    def _person(self, request: Request) -> Person:
        return acting(self._home, request.query_params.get("as"))

    def _answer(self, person: Person, recording_id: str, wanted: str) -> Response:
        return JSONResponse(captions_told(self._home, person, recording_id, wanted), headers=ASK_AGAIN)


def _seconds(said: object) -> float:
    if isinstance(said, int | float) and not isinstance(said, bool):
        return float(said)
    raise EntryRefused("A start and an end in seconds were expected. Nothing was changed; reload the page.")


def _whole(said: object) -> int:
    if isinstance(said, int) and not isinstance(said, bool) and said >= 0:
        return said
    raise EntryRefused("The revision of a caption was expected. Nothing was changed; reload the page.")
