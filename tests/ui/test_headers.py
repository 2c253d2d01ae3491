"""The headers of every answer."""

from __future__ import annotations

import http.client
import re
from base64 import b64encode
from collections.abc import Mapping
from hashlib import sha256

import pytest
from starlette.applications import Starlette
from starlette.responses import HTMLResponse, PlainTextResponse
from starlette.routing import Route

from review.domain.model import Recording
from review.store.home import Home
from tests.answers import answered
from ui.headers import ALWAYS, NO_PAGE, Hardening


def asked(address: str, path: str, **headers: str) -> tuple[dict[str, str], str]:
    """Return the headers and the text of an answer."""
    connection = http.client.HTTPConnection(address.removeprefix("http://"), timeout=20)
    try:
        connection.request("GET", path, headers=headers)
        answer = connection.getresponse()
        return {name.lower(): value for name, value in answer.getheaders()}, answer.read().decode("utf-8", "replace")
    finally:
        connection.close()


def test_every_answer_says_what_may_be_done_with_it(dashboard: str, furnished: tuple[Home, Recording]) -> None:
    """Pages, the framework's document, answers, files, pictures, refusals and what is not there."""
    paths = ("/", "/review", "/nowhere", "/sign-in", "/_stcore/health", "/api/nothing")
    of_film = (f"/api/still/{furnished[1].id}?t=0.1&as=L-07", f"/api/export/{furnished[1].id}/tables?as=L-07")
    for path in (*paths, *of_film):
        headers, _ = asked(dashboard, path)
        for name, value in ALWAYS.items():
            assert headers[name.lower()] == value, path
        policy = headers["content-security-policy"]
        assert "frame-ancestors 'none'" in policy, path
        assert (policy == NO_PAGE) is not headers.get("content-type", "").startswith("text/html"), path
    refused, _ = asked(dashboard, "/", Host="elsewhere.example")
    assert refused["content-security-policy"] == NO_PAGE


@pytest.mark.parametrize("path", ["/", "/class", "/nowhere"])
def test_scripts_within_a_page_are_those_we_know(dashboard: str, path: str) -> None:
    """Each has its digest in the policy; nothing else within a page runs, and nothing comes from elsewhere."""
    headers, text = asked(dashboard, path)
    allowed = dict(part.strip().split(" ", 1) for part in headers["content-security-policy"].split(";"))
    within = re.findall("<script>(.*?)</script>", text, re.DOTALL)
    assert within
    for script in within:
        assert f"'sha256-{b64encode(sha256(script.encode()).digest()).decode()}'" in allowed["script-src"]
    assert "unsafe" not in allowed["script-src"]
    assert not any("//" in sources or "*" in sources for sources in allowed.values())


def of_answer(path: str, scheme: str) -> Mapping[str, str]:
    """Return the headers that a small server's answer has by now, asked by http or https."""

    def page(request: object) -> HTMLResponse:
        return HTMLResponse("", headers={"Content-Security-Policy": "default-src 'none'"})

    app = Hardening(Starlette(routes=[Route("/", page), Route("/plain", lambda request: PlainTextResponse("ok"))]))
    scope = {"type": "http", "method": "GET", "path": path, "query_string": b"", "headers": [], "scheme": scheme}
    return answered(app, scope).headers


def test_https_stays_https_and_a_pages_own_policy_stands() -> None:
    """Over https a browser is told to come over nothing else; what a page says itself is not written over."""
    assert of_answer("/", "https")["content-security-policy"] == "default-src 'none'"
    assert of_answer("/plain", "https")["strict-transport-security"] == "max-age=31536000"
    assert of_answer("/plain", "https")["cross-origin-opener-policy"] == "same-origin"
    assert not {"strict-transport-security", "cross-origin-opener-policy"} & of_answer("/plain", "http").keys()
