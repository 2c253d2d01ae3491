"""The page Class in the browser: its parts, for whom it is, its files, and axe-core's rules."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from review.store.repository import repository
from tests.e2e.rules import NARROW, WIDE, broken, broken_at
from tests.e2e.test_compare_progress import SIZE
from tests.graded import furnish
from tests.homes import learners_home
from tests.screens import serving
from tests.store import made

pytestmark = pytest.mark.browser

PATIENCE_MS = 60_000


@pytest.fixture(scope="module")
def graded(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Serve the home with three graded attempts; its address."""
    home, _, _ = furnish(tmp_path_factory.mktemp("graded") / "home")
    with serving(home) as address:
        yield address


def test_all_parts_keep_the_rules(chromium: Any, graded: str) -> None:
    """Every part against axe-core, with all that is folded opened, and narrow."""
    page = chromium.new_page(viewport=SIZE)
    page.goto(f"{graded}/class?as=I-02")
    for part in ("waiting", "steps", "learners", "cut"):
        page.get_by_test_id(f"tab-{part}").click(timeout=PATIENCE_MS)
        page.get_by_test_id(f"file-{part}").wait_for()
        for fold in page.locator("details summary").all():
            fold.click()
        assert broken_at(page, NARROW, WIDE) == []
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
    page.keyboard.press("End")
    page.keyboard.press("ArrowLeft")
    row = page.get_by_test_id("class-learner")
    assert "does not pass yet" in row.inner_text()
    assert "Critical step missed: Feet together, examiner on guard" in row.inner_text()
    with page.expect_download() as stored:
        page.get_by_test_id("file-learners").click()
    assert stored.value.suggested_filename == "class_learners.csv"
    page.close()


def test_attempts_are_asked_of_an_instructor(chromium: Any, tmp_path: Path) -> None:
    """An attempt is chosen and asked of I-02; it waits for I-02 from then on, also after a reload."""
    home, learner = learners_home(tmp_path / "home", instructor="I-02")
    with repository(home) as repo:
        repo.add_recording(made.recording(checklist_id="balance_only", added_by=learner.id))
    with serving(home) as address:
        page = chromium.new_page(viewport=SIZE)
        page.goto(f"{address}/class?as=I-02")
        ask = page.get_by_test_id("ask")
        ask.wait_for(timeout=PATIENCE_MS)
        assert ask.is_disabled()
        assert broken(page) == []
        page.get_by_test_id("choose").check()
        page.get_by_test_id("whom").select_option("I-02")
        ask.click()
        page.get_by_test_id("status").get_by_text("1 attempt asked of I-02.").wait_for()
        page.reload()
        page.get_by_test_id("waits").get_by_text("asked: I-02").wait_for(timeout=PATIENCE_MS)
        page.close()


def test_ratings_and_chances_are_kept(chromium: Any, graded: str) -> None:
    """I-03 rates an attempt and says a chance; both are there after a reload, and a chance beyond 100 % is refused."""
    page = chromium.new_page(viewport=SIZE)
    page.goto(f"{graded}/class?as=I-03#cut")
    page.get_by_test_id("rating").first.select_option("2", timeout=PATIENCE_MS)
    page.get_by_test_id("status").get_by_text("Your rating is stored.").wait_for()
    page.get_by_test_id("chance").first.fill("120")
    page.get_by_test_id("store-chances").click()
    page.get_by_test_id("status").get_by_text("expected 0 to 100").wait_for()
    page.get_by_test_id("chance").first.fill("60")
    page.get_by_test_id("store-chances").click()
    page.get_by_test_id("status").get_by_text("1 chance is stored.").wait_for()
    page.reload()
    page.get_by_test_id("rating").first.wait_for(timeout=PATIENCE_MS)
    assert page.get_by_test_id("rating").first.input_value() == "2"
    assert page.get_by_test_id("chance").first.input_value() == "60"
    assert "Fewer than 10 learners" in page.get_by_test_id("angoff").inner_text()
    page.close()


def test_the_page_is_for_instructors(chromium: Any, graded: str) -> None:
    """A learner does not find it among the pages, and is told for whom it is where the address is known."""
    page = chromium.new_page(viewport=SIZE)
    page.goto(f"{graded}/class?as=L-07")
    page.get_by_test_id("empty").get_by_text("for instructors").wait_for(timeout=PATIENCE_MS)
    assert page.get_by_role("link", name="Class").count() == 0
    assert broken(page) == []
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
        assert broken(page) == []
        page.close()
