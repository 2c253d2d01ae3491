"""A slow-motion film added in the page."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from review.store.repository import reading
from tests.films import even_times, make_film
from tests.homes import learners_home
from tests.ui.conftest import serving

pytestmark = pytest.mark.browser


def test_how_many_times_slower_is_asked_and_kept(chromium: Any, tmp_path: Path) -> None:
    """The first film is said to be eight times slower than life; the next one is not, unless that is said again."""
    home, _ = learners_home(tmp_path / "home")
    slow = make_film(tmp_path / "slow.mp4", even_times(6))
    plain = make_film(tmp_path / "plain.mp4", even_times(9))
    with serving(home) as address:
        page = chromium.new_page(viewport={"width": 1366, "height": 768})
        page.goto(f"{address}/?as=L-07")
        page.get_by_test_id("film-file").set_input_files(slow, timeout=30_000)
        page.get_by_label("How many times slower than life").fill("8")
        page.get_by_test_id("add-recording").click()
        page.get_by_test_id("upload-status").get_by_text("Added.").wait_for(timeout=60_000)
        page.get_by_test_id("film-file").set_input_files(plain)
        page.get_by_test_id("add-recording").click()
        page.get_by_text("plain", exact=True).first.wait_for(timeout=60_000)
        page.close()
    with reading(home) as repo:
        assert {one.name: one.slow_motion for one in repo.recordings()} == {"slow": 8.0, "plain": 1.0}
