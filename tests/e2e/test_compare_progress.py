"""The pages Compare and Progress in the browser: what they show, where they lead, and axe-core's rules."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.e2e.rules import NARROW, WIDE, broken, broken_at
from tests.graded import furnish
from tests.homes import learners_home
from tests.screens import serving

pytestmark = pytest.mark.browser

SIZE = {"width": 1366, "height": 768}


@pytest.fixture(scope="module")
def graded(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Serve the home with three graded attempts; its address."""
    home, _, _ = furnish(tmp_path_factory.mktemp("graded") / "home")
    with serving(home) as address:
        yield address


def test_pages_keep_the_rules(chromium: Any, graded: str) -> None:
    """Both pages against axe-core, with all that is folded opened, and narrow."""
    page = chromium.new_page(viewport=SIZE)
    for path, name in (("compare", "grades"), ("progress", "course")):
        page.goto(f"{graded}/{path}?as=L-07")
        page.get_by_test_id(name).wait_for(timeout=60_000)
        for fold in page.locator("details summary").all():
            fold.click()
        assert broken_at(page, NARROW, WIDE) == []
    page.close()


def test_another_attempt_is_chosen_and_its_seconds_lead_to_the_film(chromium: Any, graded: str) -> None:
    """The attempt chosen survives a reload; a row's time leads to that second on the Review page, as oneself."""
    page = chromium.new_page(viewport=SIZE)
    page.goto(f"{graded}/compare?as=L-07")
    page.get_by_role("heading", name="Attempt 3, step by step").wait_for(timeout=60_000)
    page.get_by_test_id("attempt").select_option("2a2b3c")
    page.get_by_role("heading", name="Attempt 2, step by step").wait_for(timeout=60_000)
    page.reload()
    page.get_by_role("heading", name="Attempt 2, step by step").wait_for(timeout=60_000)
    guard = page.locator('[data-testid="step"][data-key="position_guard|"]')
    assert "part by one level" in guard.inner_text()
    link = guard.get_by_role("link").get_attribute("href")
    assert link == "/review?recording=2a2b3c&as=L-07#t=7.000"
    page.close()


def test_the_cover_is_that_of_whom_one_works_as(chromium: Any, graded: str) -> None:
    """What is covered for L-07, who has not graded it, is there for the instructor who has."""
    page = chromium.new_page(viewport=SIZE)
    page.goto(f"{graded}/compare?as=L-07&recording=3a2b3c")
    closed = page.locator('[data-testid="step"][data-key="eyes_closed|"]')
    closed.wait_for(timeout=60_000)
    assert closed.inner_text().count("covered or none") == 3
    page.get_by_test_id("person").select_option("I-02")
    page.wait_for_url("**as=I-02**")
    closed.get_by_text("no grade").wait_for(timeout=60_000)
    assert closed.locator("b").all_inner_texts() == ["yes", "yes"]
    page.close()


def test_what_to_practise_comes_with_reason_and_caution(chromium: Any, graded: str) -> None:
    """The first step to practise is the critical one that was never done fully, and leads to its seconds."""
    page = chromium.new_page(viewport=SIZE)
    page.goto(f"{graded}/progress?as=L-07")
    first = page.get_by_test_id("next").locator("li").first
    first.wait_for(timeout=60_000)
    said = first.inner_text()
    assert "Feet together, examiner on guard" in said
    assert "4 of 4 points lost in attempt 3" in said
    assert "Guard first" in said
    assert first.get_by_role("link").get_attribute("href") == "/review?recording=3a2b3c&as=L-07#t=7.000"
    page.close()


def test_empty_pages_say_what_to_do_first(chromium: Any, tmp_path: Path) -> None:
    """Before there is an attempt, both pages have one sentence, and keep the rules."""
    home, _ = learners_home(tmp_path / "home")
    with serving(home) as address:
        page = chromium.new_page(viewport=SIZE)
        for path in ("compare", "progress"):
            page.goto(f"{address}/{path}")
            page.get_by_test_id("empty").get_by_text("Add a film on the page Recordings").wait_for(timeout=60_000)
            assert broken(page) == []
        page.close()
