"""What the board of the Review page asks for: that what is done on it is stored, and itself as it is by now."""

from __future__ import annotations

import json
import time
from typing import Any, Final

from anyio import CapacityLimiter, to_thread
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from review.actions.operations import apply
from review.domain.model import Person
from review.store.home import Home
from review.store.repository import repository
from ui.acting import everybody
from ui.answering import ASK_AGAIN, Answers, Handler, said_in, threaded
from ui.boards import PutTogether, at_once, put_together

AT_ONCE: Final = 1
"""Threads that store, and do nothing else: nobody's mark waits for other people's boards and pictures."""


def whose_board(home: Home, client: str | None = None) -> dict[str, Any]:
    """Return what goes with a board besides what is on it.

    Returns
    -------
    dict
        ``people`` whom one may work as, ``client`` whose operations it acknowledges, and ``at``: greater the later it
        was begun, so that no older board takes the place of a newer one.
    """
    people = [{"code": one.code, "role": str(one.role)} for one in everybody(home)]
    return {"people": people, "client": client, "at": time.time()}


class Deeds(Answers):
    """Answers of one home.

    Parameters
    ----------
    home
        Which home.
    boards
        What puts boards together; here, if nothing does.
    """

    def __init__(self, home: Home, boards: PutTogether | None = None) -> None:
        super().__init__(home)
        self._boards: PutTogether = boards or self._put_together
        self._storing, self._showing = CapacityLimiter(AT_ONCE), CapacityLimiter(at_once() if boards else 1)

    def table(self) -> list[tuple[str, Handler, list[str]]]:
        """Return addresses, what answers them, and by which method."""
        return [
            ("/api/deeds/{id}", self.store, ["POST"]),
            ("/api/board/{id}", threaded(self.board, self._showing), ["GET"]),
        ]

    async def store(self, request: Request) -> Response:
        """Store the ``ops`` of the body as those of the browser ``client``, as `apply` says.

        The answer comes once they are in the database: ``{"client", "ack", "faults"}``. What came before is not done
        again, so that a browser that got no answer sends the same once more.
        """
        said = await said_in(request)
        return await to_thread.run_sync(self._store, request, said, limiter=self._storing)

    def _store(self, request: Request, said: dict[str, Any]) -> Response:
        person, client = self._person(request), said.get("client", "")
        with repository(self._database) as repo:
            ack, faults = apply(repo, person, request.path_params["id"], client, said.get("ops", []))
        return JSONResponse({"client": client, "ack": ack, "faults": faults}, headers=ASK_AGAIN)

    def _put_together(self, recording_id: str, person: Person, client: str | None) -> bytes:
        return put_together(self._home, self._database, recording_id, person, client)

    def board(self, request: Request) -> Response:
        """Answer with the board of a recording; ``ack`` says how far operations of the browser ``client`` are in it."""
        person, client = self._person(request), request.query_params.get("client")
        beside = json.dumps(whose_board(self._home, client)).encode()
        found = self._boards(request.path_params["id"], person, client)
        return Response(found[:-1] + b"," + beside[1:], media_type="application/json", headers=ASK_AGAIN)
