"""Several films chosen at once in the page."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from review.store.repository import reading
from tests.films import even_times, make_film
from tests.homes import learners_home
from tests.ui.conftest import serving

pytestmark = pytest.mark.browser


def test_what_was_refused_is_what_is_left_in_hand(chromium: Any, tmp_path: Path) -> None:
    """Two films are added under their own names; the empty file between them is refused and named as what is left."""
    home, _ = learners_home(tmp_path / "home")
    first = make_film(tmp_path / "first.mp4", even_times(6))
    last = make_film(tmp_path / "last.mp4", even_times(9))
    empty = tmp_path / "empty.mp4"
    empty.touch()
    with serving(home) as address:
        page = chromium.new_page(viewport={"width": 1366, "height": 768})
        page.goto(f"{address}/?as=L-07")
        page.get_by_test_id("film-file").set_input_files([first, empty, last], timeout=30_000)
        page.get_by_role("heading", name="3 films").wait_for()
        page.get_by_test_id("add-recording").click()
        page.get_by_role("heading", name="empty.mp4, 0.0 MB").wait_for(timeout=60_000)
        told = page.get_by_test_id("upload-status").all_inner_texts()
        page.close()
    assert [text.split(".")[0] for text in told[::2]] == ["Added", "Added"]
    assert told[1].startswith("empty.mp4: the file is empty (0 bytes).")
    with reading(home) as repo:
        assert {recording.name for recording in repo.recordings()} == {"first", "last"}
