"""Filming in the page, with the browser's own made-up camera."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from review.store.repository import reading
from tests.homes import learners_home
from tests.ui.conftest import serving

pytestmark = pytest.mark.browser

FILMED_MS = 3000


def _film(page: Any, address: str) -> None:
    page.goto(f"{address}/?as=L-07")
    page.get_by_test_id("camera-open").click(timeout=30_000)
    record = page.get_by_test_id("camera-record")
    record.click()
    page.wait_for_timeout(FILMED_MS)
    record.click()
    page.get_by_test_id("upload-status").get_by_text("Added.").wait_for(timeout=60_000)


def test_filming_here_makes_a_recording(chromium: Any, tmp_path: Path) -> None:
    """Three seconds filmed in the page become a recording of three seconds that the browser can play."""
    home, _ = learners_home(tmp_path / "home")
    with serving(home) as address:
        page = chromium.new_page(viewport={"width": 1366, "height": 768})
        _film(page, address)
        page.close()
    with reading(home) as repo:
        (recording,) = repo.recordings()
    assert abs(recording.duration_s - FILMED_MS / 1000) < 0.6
    assert recording.name.startswith("filmed ")
    assert (home.root / recording.playback).suffix == ".mp4"
    assert not list(home.incoming.iterdir())


def test_a_connection_that_breaks_while_filming(chromium: Any, tmp_path: Path) -> None:
    """Slices that were lost on the way, or whose answer was, are sent again: the film is whole."""
    home, _ = learners_home(tmp_path / "home")
    lost = iter((True, True, False, True, False))

    def break_off(route: Any) -> None:
        if route.request.method == "PUT" and next(lost, False):
            route.fetch()  # it arrives, but its answer does not
            route.abort("connectionreset")
        else:
            route.continue_()

    with serving(home) as address:
        page = chromium.new_page(viewport={"width": 1366, "height": 768})
        page.route("**/api/upload/**", break_off)
        _film(page, address)
        page.close()
    with reading(home) as repo:
        (recording,) = repo.recordings()
    assert abs(recording.duration_s - FILMED_MS / 1000) < 0.6
    assert next(lost, None) is None
    assert not list(home.incoming.iterdir())
