"""A film whose copy was lost plays again once its recording is opened."""

from __future__ import annotations

from typing import Any

import pytest

from review.domain.model import Recording
from review.store.home import Home
from review.store.media import media_folder
from review.store.vault import erase_stowed
from tests.ui.test_review_page import open_review

pytestmark = pytest.mark.browser


def test_opening_a_recording_makes_its_lost_copy_anew(
    chromium: Any, dashboard: str, furnished: tuple[Home, Recording]
) -> None:
    """Copy and times are back beside the original, and the browser has the film."""
    home, recording = furnished
    lost = [home.root / recording.playback, media_folder(home, recording.sha256) / "times.npy"]
    for path in lost:
        path.unlink()
    erase_stowed(home, recording.sha256)
    page = chromium.new_page(viewport={"width": 1366, "height": 768})
    try:
        open_review(page, f"{dashboard}/review?recording={recording.id}&as=L-07")
        page.wait_for_function("window.film.readyState >= 2")
        assert page.get_by_text("is lost").count() == 0
    finally:
        page.close()
    assert all(path.is_file() for path in lost)
