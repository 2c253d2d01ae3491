"""The document that every page begins with: the framework's own, told beforehand where its server is."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Final

import streamlit as st
from starlette.requests import Request
from starlette.responses import HTMLResponse
from starlette.routing import Route

from review.store.home import Home
from ui import assets
from ui.ahead import begin_page
from ui.answering import ASK_AGAIN

SCRIPTS: Final = {
    "/": "shelf",
    "/review": "board",
    "/compare": "compare",
    "/progress": "progress",
    "/class": "classes",
    "/checklists": "sheets",
    "/filming": "guide",
    "/privacy": "privacy",
}
"""The script of the component that a page draws, by the page's address."""

_FRAMEWORK: Final = Path(st.__file__).parent / "static"

_LATE: Final = "BidiComponent.*.js"
"""The framework's modules that it asks for only when it draws a component of ours."""

_HERE: Final = """<script>
      window.__streamlit = {
        BACKEND_BASE_URL: location.origin,
        HOST_CONFIG: { allowedOrigins: [location.origin], useExternalAuthToken: false },
      }
    </script>"""
"""Without it the framework asks below the page's own address first whether its server is there, and waits before it
asks at the root; with it the connection is opened at once, and those questions are asked meanwhile."""


def page_routes(home: Home) -> list[Route]:
    """Return routes that answer the pages' addresses with their documents, and begin what the pages will show."""

    def answer(request: Request) -> HTMLResponse:
        begin_page(home, request.url.path, request.query_params)
        return HTMLResponse(document(request.url.path), headers=ASK_AGAIN)

    return [Route(path, answer, methods=["GET"]) for path in SCRIPTS]


def framework_document() -> str:
    """Return the framework's own document, which answers addresses of no page."""
    return (_FRAMEWORK / "index.html").read_text("utf-8")


@lru_cache(maxsize=len(SCRIPTS))
def document(path: str) -> str:
    """Return the document of a page: it names the page's scripts, so that they come while the framework starts."""
    known, folder = framework_document(), _FRAMEWORK / "static" / "js"
    late = assets.modules(folder, *(one.name for one in folder.glob(_LATE)))
    own = assets.modules(assets.FOLDER, f"{SCRIPTS[path]}.js")
    ahead = [f'<link rel="modulepreload" crossorigin href="./static/js/{name}">' for name in late if name not in known]
    ahead += [f'<link rel="modulepreload" href="/assets/{assets.version()}/{name}">' for name in own]
    parts = "".join(f"    {part}\n" for part in (_HERE, *ahead))
    return known.replace("  </head>", f"{parts}  </head>", 1).replace("<title>Streamlit<", "<title>Runthrough<")
