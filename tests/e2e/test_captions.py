"""Comments as captions of the film, in a real browser."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from review.actions import comments, recordings
from review.store.repository import repository
from tests.e2e.coded import even_ms, open_film, write_coded
from tests.homes import learners_home
from tests.screens import serving

pytestmark = pytest.mark.browser


def test_a_comment_stands_under_the_picture_at_its_seconds(chromium: Any, tmp_path: Path) -> None:
    """Switched on, a comment is shown from its moment on and gone after its time; switched off, it is not."""
    home, learner = learners_home(tmp_path / "home")
    recording = recordings.add(home, learner, write_coded(tmp_path / "film.mp4", even_ms(8)), name="Said")
    with repository(home) as repo:
        comments.write(repo, learner, recording, 2.0, None, "Here <it> begins & ends.")
    with serving(home) as address:
        page = chromium.new_page(viewport={"width": 1366, "height": 768})
        open_film(page, address, recording.id)
        caption = page.get_by_test_id("caption")
        page.keyboard.press("y")
        assert caption.is_hidden()
        for _ in range(3):
            page.keyboard.press("Shift+ArrowRight")
        caption.get_by_text("L-07: Here <it> begins & ends.").wait_for()
        page.keyboard.press("y")
        caption.wait_for(state="hidden")
        page.keyboard.press("y")
        caption.wait_for()
        for _ in range(3):
            page.keyboard.press("Shift+ArrowRight")
        caption.wait_for(state="hidden")
        page.close()
