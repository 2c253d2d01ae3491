"""What the server answers about sharing an attempt: whom it is shown to, and changing that."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from review.actions import handing_in
from review.domain.errors import EntryRefused
from review.domain.model import Person
from review.report.sharing import sharing_told
from review.store.database import Database
from ui.answering import ASK_AGAIN, Answers, Handler, said_in, threaded


class Shares(Answers):
    """Answers of one home."""

    def table(self) -> list[tuple[str, Handler, list[str]]]:
        """Return addresses, what answers them, and by which method."""
        return [("/api/share/{id}", threaded(self.told), ["GET"]), ("/api/share/{id}", self.change, ["POST"])]

    def told(self, request: Request) -> Response:
        """Answer with whom an attempt is shown to, as `sharing_told` says."""
        return self._told(request, self._person(request))

    async def change(self, request: Request) -> Response:
        """Do the ``deed`` of the body, with its ``code`` where it takes one, and answer as `told` does."""
        said = await said_in(request)
        return await run_in_threadpool(self._change, request, said)

    def _change(self, request: Request, said: dict[str, Any]) -> Response:
        person = self._person(request)
        deed, code = _DEEDS.get(str(said.get("deed"))), said.get("code", "")
        if deed is None or not isinstance(code, str):
            raise EntryRefused(f"One of {', '.join(_DEEDS)} was expected. Nothing was changed; reload the page.")
        deed(self._database, person, request.path_params["id"], code)
        return self._told(request, person)

    def _told(self, request: Request, person: Person) -> Response:
        return JSONResponse(sharing_told(self._database, person, request.path_params["id"]), headers=ASK_AGAIN)


_DEEDS: Final[dict[str, Callable[[Database, Person, str, str], object]]] = {
    "hand in": lambda home, person, recording_id, _: handing_in.hand_in(home, person, recording_id),
    "take back": lambda home, person, recording_id, _: handing_in.take_back(home, person, recording_id),
    "ask": handing_in.ask_peer,
    "no longer ask": handing_in.take_peer_back,
}
