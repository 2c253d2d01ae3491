"""Who was let in to a state a moment ago hears it without being asked again, and nobody else does."""

from __future__ import annotations

from typing import Any

import pytest
from starlette.responses import JSONResponse
from starlette.types import Receive, Scope, Send

from tests.answers import answered
from ui.recent import KEPT_S, Recent

ASKED = {
    "type": "http",
    "method": "GET",
    "scheme": "https",
    "path": "/api/version/aaaa",
    "query_string": b"as=L-01",
    "headers": [(b"cookie", b"login=secret")],
}


class Clock:
    """A clock that is set by hand."""

    now = 100.0

    def __call__(self) -> float:
        """Tell the time."""
        return self.now


def _told(recent: Recent, scope: dict[str, Any], status: int) -> None:
    """Have a request answered with a status."""

    async def app(scope: Scope, receive: Receive, send: Send) -> None:
        await JSONResponse({}, status)(scope, receive, recent.watched(scope, send))

    assert answered(app, scope).status == status


def test_a_state_that_was_told_is_told_again_for_a_moment() -> None:
    """Not before it was told once, nor when the moment is over."""
    clock = Clock()
    recent = Recent(clock)
    assert recent.recording(ASKED) is None
    _told(recent, ASKED, 200)
    clock.now += KEPT_S - 0.01
    assert recent.recording(ASKED) == "aaaa"
    clock.now += 0.02
    assert recent.recording(ASKED) is None


@pytest.mark.parametrize("status", [401, 403, 404])
def test_a_refusal_is_never_remembered_as_an_answer(status: int) -> None:
    """Who was refused is asked again."""
    recent = Recent(Clock())
    _told(recent, ASKED, status)
    assert recent.recording(ASKED) is None


@pytest.mark.parametrize(
    "other",
    [
        {"path": "/api/version/bbbb"},
        {"query_string": b"as=L-02"},
        {"headers": [(b"cookie", b"login=another")]},
        {"headers": []},
        {"scheme": "http"},
        {"type": "websocket"},
        {"path": "/api/film/aaaa"},
    ],
)
def test_any_other_request_is_looked_at_anew(other: dict[str, Any]) -> None:
    """Another recording, person, login or way of coming is not the one that was let in."""
    recent = Recent(Clock())
    _told(recent, ASKED, 200)
    assert recent.recording({**ASKED, **other}) is None


def test_whatever_is_written_ends_it() -> None:
    """A request that may change who may see what makes all be asked again."""
    recent = Recent(Clock())
    _told(recent, ASKED, 200)
    assert recent.recording({**ASKED, "method": "POST", "path": "/api/sign-out"}) is None
    assert recent.recording(ASKED) is None


def test_a_mark_of_anybody_is_no_reason_to_ask_again_who_may_see() -> None:
    """What else is written is: it may have changed who sees what."""
    recent = Recent(Clock())
    _told(recent, ASKED, 200)
    assert recent.recording({**ASKED, "method": "POST", "path": "/api/deeds/aaaa"}) is None
    assert recent.recording(ASKED) == "aaaa"
    assert recent.recording({**ASKED, "method": "POST", "path": "/api/share/aaaa"}) is None
    assert recent.recording(ASKED) is None
