"""The document that a page begins with."""

from __future__ import annotations

import http.client
import re
from pathlib import Path

import pytest
import streamlit as st

from review.domain.model import Recording
from review.store.home import Home
from ui.doors import PAGES
from ui.frame import SCRIPTS, document, page_routes

_AHEAD = re.compile(r'<link rel="modulepreload" (?:crossorigin )?href="\.?([^"]+)">')


def test_every_page_has_a_document(furnished: tuple[Home, Recording]) -> None:
    """The bare address and each page's own begin with one; that of the first page's name leads to the bare one."""
    assert {*SCRIPTS, "/recordings"} == {door.path for door in PAGES}
    assert [route.path for route in page_routes(furnished[0])] == list(SCRIPTS)


@pytest.mark.parametrize("path", SCRIPTS)
def test_a_document_is_the_frameworks_own_and_says_where_its_server_is(path: str) -> None:
    """What we add stands in its head, once; the framework of today reads what it is told there."""
    text = document(path)
    head, rest = text.split("</head>")
    assert head.count("BACKEND_BASE_URL: location.origin") == 1
    assert "<title>Runthrough</title>" in head
    assert '<div id="root">' in rest
    (script,) = re.findall(r'<script type="module" crossorigin src="\./([^"]+)"', text)
    assert "BACKEND_BASE_URL" in (Path(st.__file__).parent / "static" / script).read_text("utf-8")


def test_all_that_a_page_names_ahead_is_there_and_is_asked_for(dashboard: str) -> None:
    """Each module named ahead is served, once, for ever; the page's own script and what it imports are among them."""
    text = document("/privacy")
    named = _AHEAD.findall(text)
    assert len(named) == len(set(named))
    own = [name.rpartition("/")[2] for name in named if name.startswith("/assets/")]
    assert own[0] == "privacy.js"
    assert {"privacy_mine.js", "chooser.js", "dom.js"} <= set(own)
    connection = http.client.HTTPConnection(dashboard.removeprefix("http://"), timeout=20)
    for name in ["/privacy?as=L-07", *named[-len(own) - 4 :]]:
        connection.request("GET", name)
        answer = connection.getresponse()
        body = answer.read().decode()
        assert answer.status == 200, name
        assert body == text if name.startswith("/privacy") else "immutable" in (answer.getheader("cache-control") or "")
    connection.close()
