"""What is said and comments as captions of the film, and marks as its chapters, in a real browser."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from review.actions import comments, marks, recordings
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
        caption = page.get_by_test_id("comment-caption")
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


def test_the_player_tells_the_chapter_it_is_in(chromium: Any, tmp_path: Path) -> None:
    """The browser reads one's own marks as chapters, nested and trimmed; the step at this moment is named beside."""
    home, learner = learners_home(tmp_path / "home")
    film = write_coded(tmp_path / "film.mp4", even_ms(8))
    recording = recordings.add(home, learner, film, name="Marked", checklist_id="balance_only")
    with repository(home) as repo:
        marks.place(repo, learner, recording, "eyes_open", None, 1.0, 4.5)
        marks.place(repo, learner, recording, "position_guard", None, 2.0, 3.0)
        marks.place(repo, learner, recording, "eyes_closed", None, 4.0, 6.0)
    with serving(home) as address:
        page = chromium.new_page(viewport={"width": 1366, "height": 768})
        open_film(page, address, recording.id)
        page.locator('[data-testid="row"][data-key="eyes_open|"] .row-title').click()
        page.get_by_test_id("go-to-start").click()
        chapter = page.get_by_test_id("chapter")
        chapter.get_by_text("Eyes open").wait_for()
        cues = page.evaluate(
            """() => {
                const chapters = [...window.film.textTracks].find((one) => one.kind === "chapters");
                return [...chapters.cues].map((cue) => [cue.startTime, cue.endTime]);
            }"""
        )
        assert cues == [[1.0, 4.0], [2.0, 3.0], [4.0, 6.0]]
        for title in ("Feet together", "Eyes open", "Eyes closed"):
            page.keyboard.press("Shift+ArrowRight")
            chapter.get_by_text(title).wait_for()
        page.keyboard.press("[")
        for _ in range(3):
            page.keyboard.press("Shift+ArrowRight")
        chapter.wait_for(state="hidden")
        page.close()
