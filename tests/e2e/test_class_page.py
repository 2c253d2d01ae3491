"""The page Class in the browser: its parts, for whom it is, its files, and axe-core's rules."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.e2e.test_compare_progress import SIZE, violations
from tests.graded import furnish
from tests.homes import learners_home
from tests.screens import serving

pytestmark = pytest.mark.browser

PATIENCE_MS = 60_000


@pytest.fixture(scope="module")
def graded(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Serve the home with three graded attempts; its address."""
    home, _, _ = furnish(tmp_path_factory.mktemp("graded") / "home")
    with serving(home) as address:
        yield address


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_all_parts_keep_the_rules(chromium: Any, graded: str, scheme: str) -> None:
    """Every part against axe-core, with all that is folded opened, and narrow."""
    page = chromium.new_page(viewport=SIZE, color_scheme=scheme)
    page.goto(f"{graded}/class?as=I-02")
    for part in ("waiting", "steps", "learners"):
        page.get_by_test_id(f"tab-{part}").click(timeout=PATIENCE_MS)
        page.get_by_test_id(f"file-{part}").wait_for()
        for fold in page.locator("details summary").all():
            fold.click()
        assert violations(page) == []
        page.set_viewport_size({"width": 768, "height": 1024})
        assert violations(page) == []
        page.set_viewport_size(SIZE)
    page.close()


def test_steps_are_ordered_by_what_is_asked(chromium: Any, graded: str) -> None:
    """The step done fully least often comes first when that is chosen; a reload keeps the part."""
    page = chromium.new_page(viewport=SIZE)
    page.goto(f"{graded}/class?as=I-02#steps")
    rows = page.get_by_test_id("class-step")
    rows.first.wait_for(timeout=PATIENCE_MS)
    assert "0 of 1, 0 to 79 %" in page.locator('[data-key="position_guard|"]').inner_text()
    page.get_by_test_id("order").select_option("fully")
    assert rows.first.get_attribute("data-key") == "position_guard|"
    page.get_by_test_id("which").select_option("all")
    page.get_by_text("3 attempts of 1 learner").wait_for()
    assert rows.first.get_attribute("data-key") == "position_guard|"
    page.reload()
    rows.first.wait_for(timeout=PATIENCE_MS)
    page.close()


def test_tabs_go_by_arrow_keys_and_a_table_is_stored(chromium: Any, graded: str) -> None:
    """Arrow keys lead from part to part; a table's link stores a file."""
    page = chromium.new_page(viewport=SIZE)
    page.goto(f"{graded}/class?as=I-02")
    page.get_by_test_id("tab-waiting").click(timeout=PATIENCE_MS)
    page.keyboard.press("ArrowLeft")
    row = page.get_by_test_id("class-learner")
    assert "does not pass yet" in row.inner_text()
    assert "Critical step missed: Feet together, examiner on guard" in row.inner_text()
    with page.expect_download() as stored:
        page.get_by_test_id("file-learners").click()
    assert stored.value.suggested_filename == "class_learners.csv"
    page.close()


def test_the_page_is_for_instructors(chromium: Any, graded: str) -> None:
    """A learner does not find it among the pages, and is told for whom it is where the address is known."""
    page = chromium.new_page(viewport=SIZE)
    page.goto(f"{graded}/class?as=L-07")
    page.get_by_test_id("empty").get_by_text("for instructors").wait_for(timeout=PATIENCE_MS)
    assert page.get_by_role("link", name="Class").count() == 0
    assert violations(page) == []
    page.get_by_test_id("person").select_option("I-02")
    page.get_by_test_id("tab-steps").wait_for(timeout=PATIENCE_MS)
    assert page.get_by_role("link", name="Class").count() == 1
    page.close()


def test_an_empty_page_says_what_to_do_first(chromium: Any, tmp_path: Path) -> None:
    """Before there is an attempt, there is one sentence."""
    home, _ = learners_home(tmp_path / "home", instructor="I-02")
    with serving(home) as address:
        page = chromium.new_page(viewport=SIZE)
        page.goto(f"{address}/class?as=I-02")
        page.get_by_test_id("empty").get_by_text("added on the page Recordings").wait_for(timeout=PATIENCE_MS)
        assert violations(page) == []
        page.close()
