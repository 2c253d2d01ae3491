"""The dialog for copies with masked faces in the browser: making one, the seconds to look at, taking it out."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from review.actions import recordings
from review.capture.probe import probe
from tests.e2e.rules import broken
from tests.e2e.test_compare_progress import SIZE
from tests.films import click_at, even_times, make_film
from tests.homes import learners_home
from tests.screens import serving

pytestmark = pytest.mark.browser

PATIENCE_MS = 90_000


@pytest.fixture(scope="module")
def lab(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Serve a home with one recording of two seconds with sound and nobody in it; its address."""
    folder = tmp_path_factory.mktemp("masked")
    home, learner = learners_home(folder / "home", instructor="I-02")
    film = make_film(folder / "first.mp4", even_times(60), (320, 240), sound=click_at(0.5, 2))
    kept = recordings.add(home, learner, film, name="First attempt")
    recordings.stop_analysis(home, learner, kept.id)
    with serving(home) as address:
        yield address


def _opened(chromium: Any, address: str) -> Any:
    page = chromium.new_page(viewport=SIZE)
    page.goto(f"{address}/?as=L-07")
    page.get_by_test_id("files").locator("summary").click(timeout=PATIENCE_MS)
    page.get_by_test_id("masked-of").click()
    page.get_by_test_id("masked-make").wait_for()
    return page


def test_a_copy_is_made_and_taken_out(chromium: Any, lab: str, tmp_path: Path) -> None:
    """It is made while the dialog is shut and open again, tells what to look at, and comes without sound."""
    page = _opened(chromium, lab)
    assert not page.get_by_test_id("masked-sound").is_checked()
    page.get_by_test_id("masked-all").check()
    page.get_by_test_id("masked-make").click()
    page.get_by_test_id("masked-making").wait_for()
    page.get_by_test_id("masked-close").click()
    page.get_by_test_id("masked-of").click()
    page.get_by_test_id("masked-doubts").get_by_text("no head was found").wait_for(timeout=PATIENCE_MS)
    page.get_by_test_id("masked-doubts").get_by_role("button", name="0:00.00 to").click()
    with page.expect_download() as coming:
        page.get_by_test_id("masked-get").click()
    coming.value.save_as(tmp_path / "taken.mp4")
    assert coming.value.suggested_filename == "attempt-1-faces-masked-all.mp4"
    facts, times = probe(tmp_path / "taken.mp4")
    assert (len(times), facts.has_sound) == (60, False)
    page.close()


def test_the_dialog_keeps_the_rules(chromium: Any, lab: str) -> None:
    """The dialog with the copy made before, against axe-core; Escape shuts it and Tab stays within."""
    page = _opened(chromium, lab)
    page.get_by_test_id("masked-copy").wait_for(timeout=PATIENCE_MS)
    assert broken(page) == []
    page.keyboard.press("Escape")
    page.get_by_test_id("masked").wait_for(state="hidden")
    page.close()
