"""A film that was filmed mirrored is shown so that left is left."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from review.domain.model import Recording
from review.store.home import Home
from review.store.repository import repository
from tests.ui.test_review_page import open_review

pytestmark = pytest.mark.browser


def test_a_mirrored_film_is_played_flipped_back_and_says_so(
    chromium: Any, dashboard: str, furnished: tuple[Home, Recording]
) -> None:
    """The picture is flipped left to right, and words beside the title tell why."""
    home, recording = furnished
    page = chromium.new_page(viewport={"width": 1366, "height": 768})
    try:
        with repository(home) as repo:
            repo.update_recording(replace(recording, mirrored=True))
        open_review(page, f"{dashboard}/review?recording={recording.id}&as=L-07")
        assert page.evaluate("getComputedStyle(window.film).transform") == "matrix(-1, 0, 0, 1, 0, 0)"
        assert page.get_by_text("filmed mirrored, shown unmirrored").count() == 1
    finally:
        page.close()
        with repository(home) as repo:
            repo.update_recording(recording)
