"""Asking an application without a network, also where a browser's own loop already runs in this thread."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

from starlette.types import ASGIApp, Message

LONGEST = 60.0  # seconds a client stays without a word


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


def answered(app: ASGIApp, scope: dict[str, Any], body: bytes = b"", left: bool = False) -> Told:
    """Return what an application answers to one request; the client waits for it, unless it left before."""
    with ThreadPoolExecutor(1) as aside:
        return aside.submit(asyncio.run, _sent(app, scope, body, left)).result()


async def _sent(app: ASGIApp, scope: dict[str, Any], body: bytes, left: bool) -> Told:
    answers: list[Message] = []
    asked = {"type": "http.request", "body": body, "more_body": False}
    waiting: list[dict[str, Any]] = [{"type": "http.disconnect"} if left else asked]

    async def receive() -> Message:
        if not waiting:
            await asyncio.sleep(LONGEST)
            return {"type": "http.disconnect"}
        return waiting.pop()

    async def send(message: Message) -> None:
        answers.append(message)

    await app(scope, receive, send)
    start = next(one for one in answers if one["type"] == "http.response.start")
    headers = {name.decode(): value.decode("latin-1") for name, value in start["headers"]}
    content = b"".join(one.get("body", b"") for one in answers if one["type"] == "http.response.body")
    return Told(start["status"], headers, content)
