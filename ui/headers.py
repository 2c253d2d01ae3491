"""What every answer tells the browser of what it may do with it."""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Iterator, Mapping
from functools import cache
from hashlib import sha256
from types import MappingProxyType
from typing import Final

from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from ui.frame import SCRIPTS, document, framework_document

ALWAYS: Final = MappingProxyType(
    {
        "X-Content-Type-Options": "nosniff",
        "Referrer-Policy": "same-origin",
        "Cross-Origin-Resource-Policy": "same-origin",
        "Permissions-Policy": "camera=(self), microphone=(self), display-capture=(), geolocation=()",
    }
)
"""Of every answer, unless it says otherwise itself."""

NO_PAGE: Final = "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
"""The policy of answers that are no pages: opened by itself, none runs or loads anything."""

HTTPS_ONLY: Final = "max-age=31536000"
"""A browser that came over https comes over nothing else for a year."""

ALONE: Final = "same-origin"
"""Over https no page of another site that opened one of ours keeps hold of its window. On one's own machine, where
nobody signs in, a browser would start a process anew for nothing."""

_INLINE: Final = re.compile(r"<script>(.*?)</script>", re.DOTALL)


@cache
def page_policy() -> str:
    """Return the policy of pages: all comes from this server; of scripts within a page those alone that we know.

    The framework writes its styles into the page while it runs, and hands a component its module as a blob, so both are
    taken; a blob is made by a script that runs already.
    """
    known = " ".join(sorted({f"'sha256-{digest}'" for digest in _digests()}))
    parts = {
        "default-src": "'self'",
        "script-src": f"'self' blob: {known}",
        "style-src": "'self' 'unsafe-inline'",
        "img-src": "'self' data: blob:",
        "media-src": "'self' blob:",
        "font-src": "'self' data:",
        "connect-src": "'self'",
        "worker-src": "'self' blob:",
        "object-src": "'none'",
        "base-uri": "'self'",
        "form-action": "'self'",
        "frame-ancestors": "'none'",
    }
    return "; ".join(f"{name} {value}" for name, value in parts.items())


def _digests() -> Iterator[str]:
    for text in (framework_document(), *map(document, SCRIPTS)):
        for script in _INLINE.findall(text):
            yield b64encode(sha256(script.encode()).digest()).decode()


class Hardening:
    """Puts these headers on every answer, refusals among them.

    Parameters
    ----------
    app
        What answers.
    """

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, and its answer back with the headers."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def sent(message: Message) -> None:
            if message["type"] == "http.response.start":
                _put(MutableHeaders(scope=message), scope)
            await send(message)

        await self._app(scope, receive, sent)


def _put(headers: MutableHeaders, scope: Mapping[str, object]) -> None:
    for name, value in ALWAYS.items():
        headers.setdefault(name, value)
    is_page = headers.get("content-type", "").startswith("text/html")
    headers.setdefault("Content-Security-Policy", page_policy() if is_page else NO_PAGE)
    if scope.get("scheme") == "https":
        headers.setdefault("Strict-Transport-Security", HTTPS_ONLY)
        headers.setdefault("Cross-Origin-Opener-Policy", ALONE)
