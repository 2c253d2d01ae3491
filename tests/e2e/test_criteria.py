"""Criteria on the contact sheet: each graded by key or button, adding up to the step where they carry its points."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from review.actions import grades
from review.domain.model import Person, Recording
from review.store.home import Home
from review.store.repository import reading, repository
from tests.e2e.coded import open_film
from tests.e2e.sheets import furnish
from tests.screens import all_kept, serving

pytestmark = pytest.mark.browser

PATIENCE_MS = 60_000
ROW = '[data-testid="row"][data-key="step_1|"]'
CRITERIA = """criteria = [
    { id = "floor", text = "The floor is clear.", points = 0.5 },
    { id = "told", text = "The partner is told.", points = 0.5 },
]"""

Site = tuple[str, Home, Recording, dict[str, Person]]


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """Serve a home whose sheet's first step has two criteria that carry its points; the instructor graded one."""
    home, recording, cast = furnish(tmp_path_factory.mktemp("criteria"), criteria=CRITERIA)
    with repository(home) as repo:
        grades.give(repo, cast["I-02"], recording, "step_1", None, "missed", "told", 3)
    with serving(home) as address:
        yield address, home, recording, cast


def test_criteria_are_graded_by_keys_and_uncover_the_step(chromium: Any, site: Site) -> None:
    """G and digits grade one criterion after the other; Shift and a digit says how sure, and others' grades appear."""
    address, home, recording, cast = site
    page = chromium.new_context(viewport={"width": 1366, "height": 768}).new_page()
    open_film(page, address, recording.id, "L-07")
    row = page.locator(ROW)
    row.locator(".row-title").click()
    page.keyboard.press("g")
    row.locator('[data-testid="criterion"][data-id="floor"][aria-current="true"]').wait_for()
    page.keyboard.press("1")
    row.locator(".chip").get_by_text("1 of 2 criteria").wait_for()
    page.keyboard.press("2")
    row.locator(".chip").get_by_text("0.75 of 1").wait_for()
    assert row.locator('[data-testid="criterion"][aria-current="true"]').count() == 0
    assert row.get_by_text("I-02 (instructor)").count() == 0
    page.keyboard.press("Shift+2")
    row.get_by_text("I-02 (instructor)").wait_for(timeout=PATIENCE_MS)
    page.keyboard.press("u")
    page.get_by_test_id("message").get_by_text("Undone: your grade").wait_for()
    all_kept(page, PATIENCE_MS)
    with reading(home) as repo:
        mine = {
            one.criterion_id: (one.level, one.confidence)
            for one in repo.grades(recording.id)
            if one.person_id == cast["L-07"].id
        }
    assert mine == {"floor": ("done", 2), "told": ("partly", None)}
    page.context.close()


def test_a_criterion_is_graded_by_button_and_taken_back(chromium: Any, site: Site) -> None:
    """The pressed button keeps its focus; a step without criteria says so to the key."""
    address, _, recording, _ = site
    page = chromium.new_context(viewport={"width": 1366, "height": 768}).new_page()
    open_film(page, address, recording.id, "L-12")
    row = page.locator(ROW)
    row.locator(".row-title").click()
    button = row.locator('[data-criterion="told"][data-level="done"]')
    button.focus()
    page.keyboard.press("Enter")
    row.locator('[data-criterion="told"][data-level="done"][aria-pressed="true"]:focus').wait_for()
    row.get_by_role("button", name="Take back: The partner is told.").click()
    row.locator('[data-criterion="told"][aria-pressed="true"]').wait_for(state="detached")
    page.locator('[data-testid="row"][data-key="step_2|"] .row-title').click()
    page.keyboard.press("g")
    page.get_by_test_id("message").get_by_text("This step has no criteria").wait_for()
    page.context.close()
