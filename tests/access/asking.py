"""Asking our own routes, guarded as they are when served, without a network."""

from __future__ import annotations

from functools import cache
from urllib.parse import unquote

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.types import ASGIApp

from review.store.home import Home
from tests.answers import Told, answered
from ui.guard import Guard
from ui.routes import routes


@cache
def app_of(home: Home) -> ASGIApp:
    """Return the routes of a home behind the guard."""
    return Starlette(routes=routes(home), middleware=[Middleware(Guard, home=home, names=["reviews.example"])])


def ask(
    home: Home,
    method: str,
    address: str,
    secret: str | None = None,
    body: bytes = b"",
    scheme: str = "http",
    **more: str,
) -> Told:
    """Send one request, as whoever has a login's secret; ``_`` in the names of headers stands for a hyphen."""
    path, _, query = address.partition("?")
    headers = {"host": "127.0.0.1:8610", **{name.replace("_", "-").lower(): value for name, value in more.items()}}
    if secret is not None:
        cookie = "__Host-runthrough-login" if scheme == "https" else "runthrough-login"
        headers.setdefault("cookie", f"{cookie}={secret}")
    scope = {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": method,
        "scheme": scheme,
        "path": unquote(path),
        "raw_path": path.encode(),
        "query_string": query.encode(),
        "root_path": "",
        "headers": [(name.encode(), value.encode("latin-1")) for name, value in headers.items()],
        "client": ("192.0.2.7", 50000),
        "server": ("127.0.0.1", 8610),
    }
    return answered(app_of(home), scope, body)
