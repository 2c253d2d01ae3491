"""Who may talk to the server: its own pages alone, and where people sign in only those who may come to an address."""

from __future__ import annotations

from collections.abc import Collection, Hashable
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property
from typing import Final
from urllib.parse import quote

from anyio import CapacityLimiter, to_thread
from starlette.datastructures import Headers, QueryParams
from starlette.requests import HTTPConnection
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from review.access import Deed, may
from review.actions.signing_in import holder, note_use
from review.domain.errors import NotFound
from review.domain.model import Person
from review.report.attempt import version_now
from review.store.database import Database, open_database
from review.store.home import Home
from review.store.repository import Repository, reading
from ui.acting import AS_ANOTHER, AT_THE_DOOR, note_refusal
from ui.answering import ASK_AGAIN, QUICK
from ui.cookies import secret_of
from ui.doors import SOCKET, Door, Way, door_to
from ui.recent import Recent

OWN_NAMES: Final = frozenset({"127.0.0.1", "localhost", "[::1]"})
"""Names under which this machine reaches itself."""

READING: Final = frozenset({"GET", "HEAD", "OPTIONS"})
STATE: Final = "/api/version/"
DEEDS: Final = "/api/deeds/"

_NO_DOOR: Final = "There is nothing at this address."
_NOT_SIGNED_IN: Final = "Nobody is signed in here any more. Sign in, then try again; nothing was changed."


class Guard:
    """Turns away requests that came by another name or from another site, and from whom may not come to an address.

    A page of another site can make a browser send requests here, and can point a name of its own at this machine;
    both are told by the request's ``Host``, ``Origin`` and ``Sec-Fetch-Site``. Where people sign in, an address must
    have a door (`ui.doors`), and whoever asks for it must be signed in and allowed to come; refusals are noted. A page
    that is open asks again with each of its runs: see `ui.session.me`.

    Parameters
    ----------
    app
        What is guarded.
    home
        Whose people may sign in; None where nobody does.
    names
        Host names under which others reach this server, beside those of this machine itself.
    """

    def __init__(self, app: ASGIApp, home: Home | None = None, names: Collection[str] = ()) -> None:
        self._app = app
        self._home = home
        self._names = OWN_NAMES | {name.lower() for name in names}
        self._gate, self._first = CapacityLimiter(QUICK), CapacityLimiter(1)
        self._recent = Recent()

    @cached_property
    def _database(self) -> Database | None:
        return None if self._home is None else open_database(self._home)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it."""
        if scope["type"] not in ("http", "websocket"):
            await self._app(scope, receive, send)
            return
        refusal = _refusal(scope, self._names)
        if refusal is None:
            found = await self._find(scope)
            if not isinstance(found, Response):
                await self._let_in(found, scope, receive, send)
                return
            refusal = found
        if scope["type"] == "websocket":
            await receive()
            await send({"type": "websocket.close", "code": 1008, "reason": "refused"})
        else:
            await refusal(scope, receive, send)

    async def _find(self, scope: Scope) -> Person | Response | None:
        """Return who asks, as `_look` does; who was let in a moment ago is not looked up again."""
        if self._database is None:
            return None
        asked = _Asked(scope)
        if asked.may_change_rights:
            self._recent.forget()
        elif (person := self._recent.person(asked.key)) is not None and not asked.for_another(person):
            if asked.state_of is None:
                return person
            told = await to_thread.run_sync(version_now, self._database, asked.state_of, limiter=self._gate)
            return JSONResponse({"version": told}, headers=ASK_AGAIN)
        gate = self._first if asked.stores else self._gate  # nobody's mark waits for what others look at
        return await to_thread.run_sync(self._look, self._database, asked, limiter=gate)

    async def _let_in(self, person: Person | None, scope: Scope, receive: Receive, send: Send) -> None:
        token = AT_THE_DOOR.set(person)
        try:
            await self._app(scope, receive, send)
        finally:
            AT_THE_DOOR.reset(token)

    def _look(self, database: Database, asked: _Asked) -> Person | Response | None:
        """Return who asks, None where nobody needs to sign in, or the refusal."""
        at = datetime.now(UTC)
        with reading(database) as repo:
            if not repo.courses().signing_in():
                return None
            holding = holder(repo, asked.secret, at)
            person = holding[0] if holding else None
            refusal = _turned_away(repo, asked, person)
        if holding is not None:
            note_use(database, holding[1], at)
        if refusal is None:
            if person is not None and asked.there and not asked.may_change_rights:
                self._recent.note(asked.key, person)
            return person
        if refusal.deed is not None and person is not None:
            note_refusal(database, person, refusal.deed, refusal.recording_id)
        return refusal.answer


class _Asked:
    """What a request asks for, where people sign in."""

    def __init__(self, scope: Scope) -> None:
        self.scope = scope
        self.secret = secret_of(HTTPConnection(scope).cookies, str(scope.get("scheme", "")) in ("https", "wss"))
        self.codes = QueryParams(scope.get("query_string", b"")).getlist("as")
        self.method = SOCKET if scope["type"] == "websocket" else str(scope["method"])
        self.found = door_to(str(scope["path"]), self.method)
        self.recording = None if self.found is None else self.found[1].get(self.found[0].recording or "")
        self.there = True

    @property
    def key(self) -> Hashable:
        """All that it hangs on whether somebody is let in, but for the code of who is to act."""
        return self.secret, None if self.found is None else self.found[0].to, self.recording

    @property
    def may_change_rights(self) -> bool:
        """Whether somebody may see more or less after it; what is stored at `DEEDS` lets nobody see another's film."""
        return self.method not in {*READING, SOCKET} and not self.stores

    @property
    def stores(self) -> bool:
        """Whether it stores what was done on a board."""
        return str(self.scope["path"]).startswith(DEEDS)

    @property
    def state_of(self) -> str | None:
        """Return of which recording just the text is asked for that changes when somebody says something."""
        path = str(self.scope["path"])
        return self.recording if self.method == "GET" and path.startswith(STATE) else None

    def for_another(self, person: Person) -> bool:
        """Tell whether somebody else than this person is to act."""
        return any(code != person.code for code in self.codes)


@dataclass(frozen=True, slots=True)
class _Refusal:
    """An answer that turns a request away, and what is noted of it where somebody is signed in."""

    answer: Response
    deed: str | None = None
    recording_id: str | None = None


def _turned_away(repo: Repository, asked: _Asked, person: Person | None) -> _Refusal | None:
    """Return the refusal of a request, None where it may go on; what is not there the route itself tells."""
    if asked.found is None:
        return _Refusal(_said(404, _NO_DOOR), "come to an address without a door")
    door, _ = asked.found
    if door.to is Way.OPEN:
        return None
    if person is None:
        return _Refusal(_to_sign_in(asked.scope, door))
    if asked.for_another(person):
        message = f"{person.code} is signed in here, and somebody else was to act. Nothing was read or changed."
        return _Refusal(_said(403, message), AS_ANOTHER)
    if not isinstance(door.to, Deed):
        return None
    return _not_allowed(repo, asked, person, door.to)


def _not_allowed(repo: Repository, asked: _Asked, person: Person, deed: Deed) -> _Refusal | None:
    try:
        allowed = may(person, deed, None if asked.recording is None else repo.recording(asked.recording))
    except NotFound:
        asked.there = False
        return None
    message = f"{person.code} may not {deed}. Nothing was read or changed."
    return None if allowed else _Refusal(_said(403, message), str(deed), asked.recording)


def _said(status: int, message: str) -> Response:
    return JSONResponse({"message": message}, status)


def _to_sign_in(scope: Scope, door: Door) -> Response:
    if not door.page or scope.get("method") not in READING:
        return JSONResponse({"message": _NOT_SIGNED_IN}, 401)
    query = scope.get("query_string", b"").decode("latin-1")
    wanted = f"{scope['path']}?{query}" if query else str(scope["path"])
    return RedirectResponse(f"/sign-in?to={quote(wanted, safe='')}" if wanted != "/" else "/sign-in", 303)


def _refusal(scope: Scope, names: Collection[str]) -> Response | None:
    headers = Headers(scope=scope)
    host = headers.get("host", "")
    if _name_of(host) not in names:
        message = (
            "Runthrough answers under the names it was told only, at first those of this machine: open it at "
            "http://127.0.0.1 and its port."
        )
        return JSONResponse({"message": message}, 421)
    guarded = scope["type"] == "websocket" or scope["method"] not in READING or str(scope["path"]).startswith("/api/")
    if guarded and not _from_own_page(headers, host):
        message = "This request came from the page of another site, so nothing was read or changed."
        return JSONResponse({"message": message}, 403)
    return None


def _name_of(host: str) -> str:
    name, _, port = host.rpartition(":")
    return (name if name and port.isdecimal() else host).lower()


def _from_own_page(headers: Headers, host: str) -> bool:
    site, origin = headers.get("sec-fetch-site"), headers.get("origin")
    if site not in (None, "same-origin", "none"):
        return False
    return origin is None or origin.partition("://")[2].lower() == host.lower()
