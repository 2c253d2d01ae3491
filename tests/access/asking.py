"""Asking our own routes, guarded as they are when served, without a network."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import cache
from typing import Any
from urllib.parse import unquote

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.types import ASGIApp, Message

from review.store.home import Home
from ui.guard import Guard
from ui.routes import routes


@dataclass(frozen=True, slots=True)
class Told:
    """What was answered."""

    status: int
    headers: Mapping[str, str]
    body: bytes

    @property
    def said(self) -> Any:
        """The JSON of the body."""
        return json.loads(self.body)


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
    with ThreadPoolExecutor(1) as aside:
        return aside.submit(asyncio.run, _sent(app_of(home), scope, body)).result()


async def _sent(app: ASGIApp, scope: dict[str, Any], body: bytes) -> Told:
    answers: list[Message] = []
    waiting = [{"type": "http.request", "body": body, "more_body": False}]

    async def receive() -> Message:
        return waiting.pop() if waiting else {"type": "http.disconnect"}

    async def send(message: Message) -> None:
        answers.append(message)

    await app(scope, receive, send)
    start = next(one for one in answers if one["type"] == "http.response.start")
    headers = {name.decode(): value.decode("latin-1") for name, value in start["headers"]}
    content = b"".join(one.get("body", b"") for one in answers if one["type"] == "http.response.body")
    return Told(start["status"], headers, content)
