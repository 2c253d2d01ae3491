"""The cookie of a login: its name, and how the browser has to keep it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from starlette.responses import Response

_PLAIN: Final = "runthrough-login"
_SECURE: Final = "__Host-runthrough-login"
"""The prefix has the browser take it only over https, for this host alone and for the whole of it (RFC 6265bis)."""


def secret_of(cookies: Mapping[str, str], https: bool = False) -> str | None:
    """Return the secret of the login among a request's cookies, or None; over https only a cookie made there counts."""
    return cookies.get(_SECURE) or (None if https else cookies.get(_PLAIN))


def give(answer: Response, secret: str, https: bool) -> Response:
    """Have the browser keep a login until it is closed; no script of a page can read it."""
    answer.set_cookie(_SECURE if https else _PLAIN, secret, httponly=True, samesite="lax", path="/", secure=https)
    return answer


def take_away(answer: Response) -> Response:
    """Have the browser forget its login."""
    answer.delete_cookie(_PLAIN, path="/", httponly=True, samesite="lax")
    answer.delete_cookie(_SECURE, path="/", httponly=True, samesite="lax", secure=True)
    return answer
