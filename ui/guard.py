"""Who may talk to the server: this machine's own pages, and nobody else's."""

from __future__ import annotations

from typing import Final

from starlette.datastructures import Headers
from starlette.responses import JSONResponse
from starlette.types import ASGIApp, Receive, Scope, Send

OWN_NAMES: Final = frozenset({"127.0.0.1", "localhost", "[::1]"})
"""Names under which this machine reaches itself."""

_READING: Final = frozenset({"GET", "HEAD", "OPTIONS"})


class Guard:
    """Turns away requests that came by another name or from another site.

    A page of another site can make a browser send requests here, and can point a name of its own at this machine;
    both are told by the request's ``Host``, ``Origin`` and ``Sec-Fetch-Site``.

    Parameters
    ----------
    app
        What is guarded.
    """

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it."""
        refusal = _refusal(scope) if scope["type"] in ("http", "websocket") else None
        if refusal is None:
            await self._app(scope, receive, send)
        elif scope["type"] == "websocket":
            await receive()
            await send({"type": "websocket.close", "code": 1008, "reason": "not from this page"})
        else:
            status, message = refusal
            await JSONResponse({"message": message}, status)(scope, receive, send)


def _refusal(scope: Scope) -> tuple[int, str] | None:
    headers = Headers(scope=scope)
    host = headers.get("host", "")
    if _name_of(host) not in OWN_NAMES:
        return 421, "Runthrough answers on this machine only; open it at http://127.0.0.1 and its port."
    guarded = scope["type"] == "websocket" or scope["method"] not in _READING or str(scope["path"]).startswith("/api/")
    if guarded and not _from_own_page(headers, host):
        return 403, "This request came from the page of another site, so nothing was read or changed."
    return None


def _name_of(host: str) -> str:
    name, _, port = host.rpartition(":")
    return (name if name and port.isdigit() else host).lower()


def _from_own_page(headers: Headers, host: str) -> bool:
    site, origin = headers.get("sec-fetch-site"), headers.get("origin")
    if site not in (None, "same-origin", "none"):
        return False
    return origin is None or origin.partition("://")[2].lower() == host.lower()
