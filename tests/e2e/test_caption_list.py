"""What is said in a film: over the picture, as a list to search and to correct, and found from the recordings."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from review.actions import recordings
from review.domain.transcript import Word
from review.store.words import WordStore
from tests.e2e.coded import even_ms, open_film, write_coded
from tests.homes import learners_home
from tests.screens import serving

pytestmark = pytest.mark.browser

HEARD = (
    Word("Close", 0.2, 0.5, 0.9),
    Word("your", 0.5, 0.7, 0.9),
    Word("eyes.", 0.7, 1.1, 0.9),
    Word("Rum", 3.0, 3.3, 0.4),
    Word("bird", 3.3, 3.6, 0.3),
    Word("negative.", 3.6, 4.3, 0.9),
)


def test_what_is_said_is_shown_searched_and_corrected(chromium: Any, tmp_path: Path) -> None:
    """By keys: captions on, the list, words sought, a jump, a correction at once over the film, a hit from the list."""
    home, learner = learners_home(tmp_path / "home")
    recording = recordings.add(home, learner, write_coded(tmp_path / "film.mp4", even_ms(8)), name="Said")
    WordStore(home, recording.id).put(0, 240, HEARD)
    with serving(home) as address:
        page = chromium.new_page(viewport={"width": 1366, "height": 768})
        open_film(page, address, recording.id)
        page.keyboard.press("q")
        page.keyboard.press("d")
        lines = page.get_by_test_id("caption-line")
        lines.nth(1).wait_for()
        assert lines.nth(1).locator(".unsure").all_text_contents() == ["Rum (unsure)", "bird (unsure)"]
        page.get_by_test_id("caption-search").press_sequentially("neg")
        page.get_by_text("Found in 1 place").wait_for()
        assert [lines.count(), lines.first.locator("mark").inner_text()] == [1, "negative."]
        lines.first.locator(".time").click()
        page.get_by_test_id("caption").get_by_text("Rum bird negative.").wait_for()
        assert lines.first.get_attribute("aria-current") == "true"
        lines.first.get_by_test_id("caption-correct").click()
        page.get_by_test_id("caption-text").fill("Romberg negative.")
        page.keyboard.press("Enter")
        page.get_by_test_id("caption").get_by_text("Romberg negative.").wait_for()
        lines.first.get_by_text("corrected by L-07").wait_for()
        page.goto(f"{address}/?as=L-07")
        page.get_by_test_id("word-search").press_sequentially("romberg")
        page.get_by_test_id("word-hit").get_by_role("link").click()
        page.wait_for_url("**/review?**")
        page.get_by_test_id("clock").get_by_text("0:03.00").wait_for(timeout=30_000)
        page.get_by_test_id("caption").get_by_text("Romberg negative.").wait_for()
        page.close()
