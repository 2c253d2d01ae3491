"""The page Privacy in the browser, and that nothing leaves the machine."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import psutil
import pytest

from review.actions import recordings
from review.domain.model import Recording
from review.store.home import Home
from tests.e2e.rules import NARROW, WIDE, broken, broken_at
from tests.e2e.test_compare_progress import SIZE
from tests.films import even_times, make_film
from tests.homes import learners_home
from tests.screens import serving

pytestmark = pytest.mark.browser

PATIENCE_MS = 60_000
PAGES = ("", "review", "compare", "progress", "class", "checklists", "filming", "privacy")


@pytest.fixture
def lab(tmp_path: Path) -> Iterator[tuple[str, Home, Recording]]:
    """Serve a home with one recording; its address, the home, the recording."""
    home, learner = learners_home(tmp_path / "home", instructor="I-02")
    kept = recordings.add(home, learner, make_film(tmp_path / "first.mp4", even_times(40)), name="First attempt")
    recordings.stop_analysis(home, learner, kept.id)
    with serving(home) as address:
        yield address, home, kept


@pytest.mark.parametrize("code", ["L-07", "I-02"])
def test_the_page_keeps_the_rules(chromium: Any, lab: tuple[str, Home, Recording], code: str) -> None:
    """For learner and instructor, with who looked unfolded, against axe-core; wide and narrow."""
    address, _, kept = lab
    page = chromium.new_page(viewport=SIZE)
    page.request.get(f"{address}/api/export/{kept.id}/tables?as=I-02")
    page.goto(f"{address}/privacy?as={code}")
    page.get_by_text("Who looked").first.click(timeout=PATIENCE_MS)
    page.get_by_test_id("looks").get_by_text("file: tables").wait_for()
    assert "whoever is at this machine" in page.get_by_test_id("sees").inner_text()
    assert broken_at(page, NARROW, WIDE) == []
    page.close()


def test_a_date_is_set_on_the_page(chromium: Any, lab: tuple[str, Home, Recording]) -> None:
    """After so many days recordings are erased; the day stands beside each."""
    page = chromium.new_page(viewport=SIZE)
    page.goto(f"{lab[0]}/privacy?as=L-07")
    page.get_by_test_id("set-days").wait_for(timeout=PATIENCE_MS)
    page.get_by_test_id("days").fill("30")
    page.get_by_test_id("set-days").click()
    page.get_by_test_id("dates").get_by_text("30 days after").wait_for()
    page.get_by_test_id("private").get_by_text("To be erased on").wait_for()
    page.close()


def test_all_of_mine_is_stored_and_a_recording_erased(chromium: Any, lab: tuple[str, Home, Recording]) -> None:
    """The pack comes as a download; erasing asks once more, shows the receipt, and it stays on the page."""
    address, home, kept = lab
    page = chromium.new_page(viewport=SIZE)
    page.goto(f"{address}/privacy?as=L-07")
    with page.expect_download(timeout=PATIENCE_MS) as stored:
        page.get_by_test_id("mine").click(timeout=PATIENCE_MS)
    with zipfile.ZipFile(io.BytesIO(Path(stored.value.path()).read_bytes())) as archive:
        assert f"recordings/{kept.id}/original.mp4" in archive.namelist()
    page.get_by_test_id("erase-of").click()
    page.get_by_test_id("erase-now").click()
    page.get_by_test_id("erase").get_by_text("none of its files is there, no row").wait_for(timeout=PATIENCE_MS)
    assert broken(page) == []
    page.get_by_test_id("erase-close").click()
    page.get_by_test_id("receipt").get_by_text(kept.id).first.wait_for(timeout=PATIENCE_MS)
    assert not list(home.media.glob("*/*/original*"))
    page.close()


def test_nothing_is_sent_anywhere(chromium: Any, lab: tuple[str, Home, Recording]) -> None:
    """Whatever page is opened, the browser asks this machine only, and the server's processes connect to nobody."""
    address, _, kept = lab
    port = urlsplit(address).port
    asked: list[str] = []
    page = chromium.new_page(viewport=SIZE)
    page.on("request", lambda request: asked.append(request.url))
    page.on("websocket", lambda socket: asked.append(socket.url))
    remote: set[str] = set()
    for name in PAGES:
        page.goto(f"{address}/{name}?as=I-02&recording={kept.id}")
        page.locator("h1").first.wait_for(timeout=PATIENCE_MS)
        page.wait_for_timeout(500)
        remote |= _remote(port)
    foreign = page.evaluate(
        "() => [...document.querySelectorAll('[src], link[href]')].map((one) => one.src || one.href)"
        ".filter((url) => url && new URL(url, location.href).hostname !== location.hostname)"
    )
    page.close()
    assert len(asked) > 50
    assert {urlsplit(url).hostname for url in asked if urlsplit(url).scheme not in ("data", "blob")} == {"127.0.0.1"}
    assert foreign == []
    assert remote <= {"127.0.0.1"}


def _remote(port: int | None) -> set[str]:
    """Return to which addresses the process that listens on a port, and those it started, are connected."""
    mine = [
        one.pid for one in psutil.net_connections("tcp") if one.laddr.port == port and one.status == psutil.CONN_LISTEN
    ]
    assert mine
    server = psutil.Process(mine[0])
    found = [link for one in (server, *server.children(recursive=True)) for link in one.net_connections("inet")]
    return {link.raddr.ip for link in found if link.raddr}
