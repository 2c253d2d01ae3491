"""Handlers on threads: few at once where that is said, and nothing for who left meanwhile."""

from __future__ import annotations

import threading
import time

import anyio
import pytest
from anyio import CapacityLimiter
from starlette.requests import Request
from starlette.responses import Response
from starlette.types import Receive, Scope, Send

from tests.answers import answered
from ui.answering import GONE, threaded

ASKED = {"type": "http", "method": "GET", "path": "/", "headers": [], "query_string": b""}


@pytest.mark.parametrize(("left", "status", "times"), [(False, 200, 1), (True, GONE, 0)])
def test_nothing_is_done_for_who_left_while_waiting_for_a_turn(left: bool, status: int, times: int) -> None:
    """Else a busy server would work for those who asked again long ago."""
    done: list[Request] = []

    def handler(request: Request) -> Response:
        done.append(request)
        return Response()

    async def app(scope: Scope, receive: Receive, send: Send) -> None:
        answer = await threaded(handler, CapacityLimiter(1))(Request(scope, receive, send))
        await answer(scope, receive, send)

    assert answered(app, ASKED, left=left).status == status
    assert len(done) == times


def test_no_more_run_at_once_than_the_limiter_says() -> None:
    """Ten are asked for, two at most are at work, and all are done."""
    lock, at_work, most, done = threading.Lock(), 0, 0, 0

    def handler(request: Request) -> Response:
        nonlocal at_work, most, done
        with lock:
            at_work += 1
            most = max(most, at_work)
        time.sleep(0.02)
        with lock:
            at_work -= 1
            done += 1
        return Response()

    async def app(scope: Scope, receive: Receive, send: Send) -> None:
        run, request = threaded(handler, CapacityLimiter(2)), Request(scope, receive, send)
        async with anyio.create_task_group() as group:
            for _ in range(10):
                group.start_soon(run, request)
        await Response()(scope, receive, send)

    assert answered(app, ASKED).status == 200
    assert (done, most) == (10, 2)
