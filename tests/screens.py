"""The pages and routes, served for tests, and a browser to look at them with."""

from __future__ import annotations

import http.client
import shutil
import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
import uvicorn
from starlette.applications import Starlette
from starlette.middleware import Middleware

from review.actions import checklists, people, recordings
from review.domain.model import Recording, Role
from review.store.home import Home, find_home
from review.store.repository import repository
from tests.answers import Told
from tests.dashboards import Served, begin
from ui.guard import Guard
from ui.routes import routes

STAMPS_MS = [0, 40, 80, 160, 200, 290, 330, 400, 440, 480, *range(520, 2200, 40)]
"""Presentation times of the tiny film: the first ten frames are unevenly spaced, as those of phones are."""


@dataclass(frozen=True, slots=True)
class Site:
    """A running server of our own routes, without the pages."""

    port: int
    home: Home
    recording: Recording

    @property
    def address(self) -> str:
        """Where it is."""
        return f"http://127.0.0.1:{self.port}"

    def ask(self, method: str, path: str, body: bytes | None = None, **headers: str) -> Told:
        """Send one request and return the answer; ``_`` in a header's name stands for a hyphen."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        try:
            named = {name.replace("_", "-"): value for name, value in headers.items()}
            connection.request(method, path, body=body, headers=named)
            answer = connection.getresponse()
            return Told(answer.status, {k.lower(): v for k, v in answer.getheaders()}, answer.read())
        finally:
            connection.close()


def write_film(path: Path) -> None:
    """Write a tiny H.264 film with the presentation times `STAMPS_MS`; every frame has a brightness of its own."""
    with av.open(str(path), "w") as film:
        stream = film.add_stream("libx264", rate=25, options={"preset": "ultrafast", "bf": "0"})
        stream.width, stream.height, stream.pix_fmt = 160, 96, "yuv420p"
        stream.codec_context.time_base = Fraction(1, 1000)
        for number, stamp in enumerate(STAMPS_MS):
            picture = np.full((96, 160, 3), 20 + 4 * number, np.uint8)
            frame = av.VideoFrame.from_ndarray(picture, format="rgb24")
            frame.pts, frame.time_base = stamp, Fraction(1, 1000)
            film.mux(stream.encode(frame))
        film.mux(stream.encode(None))


@pytest.fixture(scope="session")
def tiny_film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a film of 52 frames."""
    path = tmp_path_factory.mktemp("film") / "tiny.mp4"
    write_film(path)
    return path


@pytest.fixture(scope="session")
def furnished(tmp_path_factory: pytest.TempPathFactory, tiny_film: Path) -> tuple[Home, Recording]:
    """Return a home with three people, the sheets and one recording, and that recording."""
    home = find_home(tmp_path_factory.mktemp("ui") / "home")
    with repository(home) as repo:
        checklists.install_shipped(repo)
        learner = people.ensure(repo, "L-07", Role.LEARNER)
        people.ensure(repo, "L-12", Role.PEER)
        people.ensure(repo, "I-02", Role.INSTRUCTOR)
    return home, recordings.add(home, learner, tiny_film, name="Tiny attempt")


@pytest.fixture(scope="session")
def site(furnished: tuple[Home, Recording]) -> Iterator[Site]:
    """Serve our own routes of the furnished home, guarded."""
    with answering(*furnished) as found:
        yield found


@contextmanager
def answering(home: Home, recording: Recording) -> Iterator[Site]:
    """Serve our own routes of a home, guarded, in a thread."""
    app = Starlette(routes=routes(home), middleware=[Middleware(Guard)])
    server = uvicorn.Server(uvicorn.Config(app, host="127.0.0.1", port=free_port(), log_level="error"))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    yield Site(server.config.port, home, recording)
    server.should_exit = True
    thread.join(timeout=10)


def free_port() -> int:
    """Return a port nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def browser_program() -> str | None:
    """Return the path of a browser; the one without windows first, as it takes half the computing of the whole one."""
    names = ("chromium-headless-shell", "chromium", "chromium-browser")
    return next((found for found in map(shutil.which, names) if found), None)


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """Start a browser once for all tests that need one."""
    sync = pytest.importorskip("playwright.sync_api")
    flags = ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-sync"]
    flags += ["--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream"]
    with sync.sync_playwright() as play:
        try:
            browser = play.chromium.launch(executable_path=browser_program(), args=flags)
        except sync.Error as error:
            pytest.skip(f"no browser here: {error.message.splitlines()[0]}")
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def dashboard(furnished: tuple[Home, Recording]) -> Iterator[str]:
    """Serve the whole dashboard of the furnished home in a process of its own; the value is its address."""
    with serving(furnished[0]) as address:
        yield address


@contextmanager
def serving(home: Home) -> Iterator[str]:
    """Serve the whole dashboard of a home in a process of its own; the value is its address."""
    port = free_port()
    served = begin(home.root, port)
    try:
        _wait_for(port, served)
        yield f"http://127.0.0.1:{port}"
    finally:
        served.end()


def _wait_for(port: int, served: Served) -> None:
    for _ in range(900):
        assert served.alive(), served.said()
        try:
            with socket.create_connection(("127.0.0.1", port), timeout=1):
                return
        except OSError:
            time.sleep(0.1)
    raise AssertionError("the dashboard did not start within a minute and a half")


@contextmanager
def modules_run(chromium: Any, site: Site, *names: str) -> Iterator[Callable[..., Any]]:
    """Give a function that evaluates code in a page of ours, with the exports of our modules of these names in `m`."""
    page = chromium.new_page()
    page.goto(f"{site.address}/assets/test/clock.js")
    page.evaluate(
        """async (names) => {
            const all = await Promise.all(names.map((name) => import(`/assets/test/${name}.js`)));
            window.m = Object.assign({}, ...all);
        }""",
        list(names),
    )
    yield lambda code, argument=None: page.evaluate(code, argument)
    page.close()


def all_kept(page: Any, timeout_ms: float) -> None:
    """Wait until all that was done on the Review page is stored, and the board has it."""
    page.locator('[data-testid="status"][data-shown="all"]').get_by_text("All kept").wait_for(timeout=timeout_ms)
