"""The dashboard's server: one command, one origin, this machine only."""

from __future__ import annotations

import contextlib
import gc
import os
import socket
import sys
import threading
import time
import urllib.error
import urllib.request
import webbrowser
from collections.abc import AsyncIterator, Collection
from pathlib import Path
from typing import Final

import streamlit as st
from anyio import to_thread
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import RedirectResponse
from starlette.routing import Route

from review.domain.errors import InputError
from review.pipeline.aside import Aside
from review.pipeline.together import Together
from review.store.home import HOME_VARIABLE, Home
from review.store.settings import settings_of
from ui.boards import Boards
from ui.frame import page_routes
from ui.guard import Guard
from ui.headers import Hardening
from ui.routes import routes
from ui.service import Service
from ui.viewfinder import Viewfinder

ADDRESS: Final = "127.0.0.1"

_LIGHT: Final = {
    "primaryColor": "#0072b2",
    "backgroundColor": "#fbfaf7",
    "secondaryBackgroundColor": "#f0eee8",
    "textColor": "#1c2127",
    "borderColor": "#cfcabd",
    "linkColor": "#00609a",
}
_DARK: Final = {
    "primaryColor": "#56b4e9",
    "backgroundColor": "#15181b",
    "secondaryBackgroundColor": "#1f2428",
    "textColor": "#e9e7e2",
    "borderColor": "#3c444b",
    "linkColor": "#8fd0f7",
}
_SETTINGS: Final = {
    "server.address": ADDRESS,
    "server.headless": True,
    "server.fileWatcherType": "none",
    "runner.postScriptGC": False,  # after each run of a page it held up everybody, to look through all there is
    "server.showEmailPrompt": False,
    "browser.gatherUsageStats": False,
    "browser.serverAddress": ADDRESS,
    "client.toolbarMode": "minimal",
    "client.showErrorDetails": "none",
    "logger.hideWelcomeMessage": True,
    "theme.baseRadius": "4px",
}


def make_app(home: Home, names: Collection[str] = ()) -> st.App:
    """Make the server of one home: the pages, and our own routes beside them.

    The pages run as a script of their own and find the home by the environment variable `HOME_VARIABLE`, which is
    set here.

    Parameters
    ----------
    home
        Whose pages.
    names
        Host names under which others reach the server, beside those of this machine itself.
    """
    os.environ[HOME_VARIABLE] = str(home.root)
    script = Path(__file__).with_name("dashboard.py")
    first_page = Route("/recordings", _first_page, methods=["GET"])
    aside, camera, boards = Aside(), Viewfinder(), Boards(home) if settings_of(home).database else None
    all_routes = [first_page, *page_routes(home), *routes(home, Together(aside), boards, camera)]
    before = [Middleware(Hardening), Middleware(Service, home=home), Middleware(Guard, home=home, names=names)]

    @contextlib.asynccontextmanager
    async def until_end(app: st.App) -> AsyncIterator[None]:
        try:
            yield
        finally:
            for beside in filter(None, (aside, camera, boards)):
                await to_thread.run_sync(beside.close)

    return st.App(script, routes=all_routes, middleware=before, lifespan=until_end)


def _first_page(request: Request) -> RedirectResponse:
    """Answer the address that the name of the first page suggests; the page itself has the bare address."""
    query = request.url.query
    return RedirectResponse(f"/?{query}" if query else "/")


def serve(
    home: Home, port: int, open_browser: bool, start: str = "/", address: str = "", names: Collection[str] = ()
) -> None:
    """Serve the dashboard until it is stopped with Ctrl-C.

    Parameters
    ----------
    home
        Whose recordings are shown.
    port
        Port on 127.0.0.1.
    open_browser
        Whether to open `start` in the browser once the server answers.
    start
        Page to begin with, such as ``/review?recording=0123456789ab``.
    address
        IP address to listen on, if not on this machine's own alone.
    names
        Host names under which others reach the server.

    Raises
    ------
    InputError
        If the port is taken or may not be used.
    """
    listens = address or ADDRESS
    _check_port(port, listens)
    place = f"http://{ADDRESS}:{port}"
    print(f"Runthrough is at {place}{start}\nStop it with Ctrl-C.", flush=True)
    if open_browser:
        threading.Thread(target=_open_when_ready, args=(place, start), daemon=True).start()
    themes = {f"theme.{kind}.{key}": value for kind, look in _THEMES.items() for key, value in look.items()}
    app = make_app(home, {address, *names} - {""})
    gc.collect()
    gc.freeze()  # what is here by now stays; looking through all of it again held up pages for a tenth of a second
    gc.set_threshold(*_SELDOM)
    sys.setswitchinterval(_SWITCH_S)
    with contextlib.suppress(KeyboardInterrupt):
        app.run(
            config={
                **_SETTINGS,
                **themes,
                "server.address": listens,
                "server.port": port,
                "browser.serverPort": port,
            }
        )


_SELDOM: Final = (50_000, 20, 50)
"""After how many new objects those that are of no use any more are looked for: the report of a class makes a hundred
thousand that stay until it is told, and looking through them each time took a tenth of it."""

_SWITCH_S: Final = 0.0005
"""How long a thread may keep Python from the others, seconds: a request asks the database some times, and waits for up
to this long after each answer for whoever computes just then."""

_THEMES: Final = {"light": _LIGHT, "dark": _DARK}


def _check_port(port: int, address: str) -> None:
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        if os.name == "posix":
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((address, port))
        except (OSError, OverflowError) as error:
            raise InputError(
                f"Port {port} cannot be used ({getattr(error, 'strerror', None) or error}); expected a free port. "
                "Choose another with --port, or stop the program that has it."
            ) from error


def _open_when_ready(address: str, start: str) -> None:
    for _ in range(120):
        try:
            with urllib.request.urlopen(f"{address}/_stcore/health", timeout=1):
                break
        except (urllib.error.URLError, OSError):
            time.sleep(0.25)
    else:
        return
    webbrowser.open(f"{address}{start}")
