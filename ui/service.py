"""What a server tells those who run it: whether it works, how much it does, and a line for each request.

None of it names a person, a film or an address somebody asked for: requests are told by the door they came to.
"""

from __future__ import annotations

import hmac
import json
import math
import re
import sys
import threading
import time
import traceback
from bisect import bisect_left
from collections import Counter
from collections.abc import Callable
from datetime import UTC, datetime
from functools import cached_property
from typing import Final

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import Headers
from starlette.responses import JSONResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from review.domain.errors import RunthroughError
from review.exchange.prometheus_text import MEDIA_TYPE, Requests, prometheus_text
from review.report.service import failing, figures
from review.store.database import Database, open_database
from review.store.home import Home
from review.store.settings import settings_of
from ui.doors import door_to

HEALTH: Final = "/health"
METRICS: Final = "/metrics"

BOUNDS_S: Final = (0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 10.0)
"""Within how many seconds an answer began: the classes that are counted."""

_LOOKED_FOR_S: Final = 1.0
_METHODS: Final = frozenset({"GET", "HEAD", "POST", "PUT", "DELETE", "PATCH", "OPTIONS"})
_OURS: Final = re.compile(r"(?:review|ui)[/\\][\w/\\]+\.py$")
_NO_STORE: Final = {"Cache-Control": "no-store"}


class Counts:
    """How many requests came to which door, what they were answered, and how soon; since the server started."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._answers: Counter[tuple[str, str, int]] = Counter()
        self._waits: dict[str, list[int]] = {}
        self._waited_s: Counter[str] = Counter()

    def add(self, method: str, door: str, status: int, seconds: float) -> None:
        """Count one request."""
        place = bisect_left(BOUNDS_S, seconds)
        with self._lock:
            self._answers[method, door, status] += 1
            self._waits.setdefault(door, [0] * (len(BOUNDS_S) + 1))[place] += 1
            self._waited_s[door] += seconds

    def requests(self) -> Requests:
        """Return what was counted by now."""
        with self._lock:
            waits = {door: list(counts) for door, counts in self._waits.items()}
            return Requests(dict(self._answers), waits, dict(self._waited_s), BOUNDS_S)


class Service:
    """Answers two addresses for those who run the server, before anything else; counts and notes all other requests.

    Parameters
    ----------
    app
        What answers the rest.
    home
        Whose server.
    write
        Takes the lines of the log, where the settings ask for one.
    """

    def __init__(self, app: ASGIApp, home: Home, write: Callable[[str], object] | None = None) -> None:
        self._app = app
        self._home = home
        self._write = write or sys.stderr.write
        self._counts = Counts()
        self._lock = threading.Lock()
        self._health: tuple[float, list[str]] = (-math.inf, [])
        self._settings = settings_of(home)

    @cached_property
    def _database(self) -> Database:
        return open_database(self._home)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, or pass it on and count it."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
        elif scope["path"] in (HEALTH, METRICS):
            response = await run_in_threadpool(self._told, scope)
            await response(scope, receive, send)
        else:
            await self._watched(scope, receive, send)

    def _told(self, scope: Scope) -> Response:
        if scope["method"] not in ("GET", "HEAD"):
            return JSONResponse({"message": "This address is only read."}, 405, {"Allow": "GET, HEAD"})
        return self._healthy() if scope["path"] == HEALTH else self._metrics(Headers(scope=scope))

    def _healthy(self) -> Response:
        """Say what fails; looked at once a second at most, however often it is asked."""
        with self._lock:
            at, wrong = self._health
            if time.monotonic() - at > _LOOKED_FOR_S:
                wrong = failing(self._home, self._opened())
                self._health = (time.monotonic(), wrong)
        said = {"status": "failing", "failing": wrong} if wrong else {"status": "working"}
        return JSONResponse(said, 503 if wrong else 200, _NO_STORE)

    def _opened(self) -> Database | None:
        try:
            return self._database
        except RunthroughError:
            return None

    def _metrics(self, headers: Headers) -> Response:
        token = self._settings.metrics_token
        if token is None:
            return JSONResponse({"message": "There is nothing at this address."}, 404)
        wanted = f"Bearer {token.get_secret_value()}"
        if not hmac.compare_digest(headers.get("authorization", "").encode(), wanted.encode()):
            return JSONResponse({"message": "A token is needed."}, 401, {"WWW-Authenticate": "Bearer"})
        try:
            text = prometheus_text(*figures(self._home, self._database), self._counts.requests())
        except RunthroughError as error:
            return JSONResponse({"message": str(error)}, 503)
        return Response(text, 200, _NO_STORE, MEDIA_TYPE)

    async def _watched(self, scope: Scope, receive: Receive, send: Send) -> None:
        began, status = time.perf_counter(), 0
        seconds = 0.0

        async def sent(message: Message) -> None:
            nonlocal status, seconds
            if message["type"] == "http.response.start":
                status, seconds = int(message["status"]), time.perf_counter() - began
            await send(message)

        try:
            await self._app(scope, receive, sent)
        except Exception as fault:  # of whatever kind: it is noted, and goes on up
            self._note("fault", scope, status or 500, time.perf_counter() - began, fault=place_of(fault))
            raise
        self._note("request", scope, status, seconds)

    def _note(self, event: str, scope: Scope, status: int, seconds: float, **more: str) -> None:
        method = str(scope["method"]) if scope["method"] in _METHODS else "other"
        found = door_to(str(scope["path"]), method)
        door = found[0].path if found else "none"
        self._counts.add(method, door, status, seconds)
        if self._settings.log == "json":
            at = datetime.now(UTC).isoformat(timespec="milliseconds")
            told = {"at": at, "event": event, "method": method, "door": door, "status": status, **more}
            self._write(json.dumps({**told, "ms": round(1000 * seconds, 1)}) + "\n")


def place_of(fault: BaseException) -> str:
    """Return a fault's kind and where in our code it came up; its text may hold what somebody wrote and is left out."""
    steps = traceback.extract_tb(fault.__traceback__)
    ours = [f" at {file[0]}:{step.lineno}" for step in steps if (file := _OURS.search(step.filename))]
    return type(fault).__name__ + "".join(ours[-1:])
