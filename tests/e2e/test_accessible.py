"""Every page and state of the Review page against axe-core's rules (WCAG 2.2 among them), light and dark."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from review.actions import checklists, marks, people, recordings
from review.domain.model import Recording, Role
from review.store.home import find_home
from review.store.repository import repository
from tests.screens import serving

axe = pytest.importorskip("axe_playwright_python.sync_playwright")

pytestmark = pytest.mark.browser

STEP = "romberg_eyes_open"
PAGES = [("/", "Tiny attempt"), ("/filming", "Whole body"), ("/nowhere", "not found")]
SEEN = {"resultTypes": ["violations", "passes"]}


@pytest.fixture(scope="module")
def attempt(tmp_path_factory: pytest.TempPathFactory, tiny_film: Path) -> Iterator[tuple[str, Recording]]:
    """Serve a home in which the learner and the instructor marked one step; its address, and the recording."""
    home = find_home(tmp_path_factory.mktemp("accessible") / "home")
    with repository(home) as repo:
        checklists.install_shipped(repo)
        learner = people.ensure(repo, "L-07", Role.LEARNER)
        instructor = people.ensure(repo, "I-02", Role.INSTRUCTOR)
    recording = recordings.add(home, learner, tiny_film, name="Tiny attempt")
    with repository(home) as repo:
        marks.place(repo, learner, recording, STEP, None, 0.2, 1.2)
        marks.place(repo, instructor, recording, STEP, None, 0.4, 1.4)
    with serving(home) as address:
        yield address, recording


def faults(page: Any) -> tuple[list[str], int]:
    """Return what axe-core finds wrong, with the elements, and how many elements it looked at."""
    found = axe.Axe().run(page, options=SEEN).response
    wrong = [f"{rule['id']}: {node['html'][:120]}" for rule in found["violations"] for node in rule["nodes"]]
    return wrong, sum(len(rule["nodes"]) for rule in found["passes"])


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(
    ("path", "word"), [("/", "Tiny attempt"), ("/filming", "Whole body"), ("/nowhere", "not found")]
)
def test_pages_keep_the_rules(chromium: Any, attempt: tuple[str, Recording], path: str, word: str, scheme: str) -> None:
    """Recordings, the filming guide, and the address of no page."""
    page = chromium.new_page(viewport={"width": 1366, "height": 768}, color_scheme=scheme)
    page.goto(attempt[0] + path)
    page.get_by_text(word).first.wait_for(timeout=60_000)
    assert faults(page)[0] == []
    page.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_states_of_the_review_page_keep_the_rules(chromium: Any, attempt: tuple[str, Recording], scheme: str) -> None:
    """Covered, graded, uncovered, with a comment being written and written, and with the list of keys."""
    page = chromium.new_page(viewport={"width": 1366, "height": 768}, color_scheme=scheme)
    page.goto(f"{attempt[0]}/review?recording={attempt[1].id}&as=L-07")
    page.get_by_test_id("frame").get_by_text("of 52").wait_for(timeout=60_000)
    page.locator(f'[data-testid="row"][data-key="{STEP}|"] .row-title').click()
    wrong, seen = faults(page)
    assert wrong == []
    assert seen > 1000, "axe-core did not look into the board"
    for press in ("1", "Shift+3", "c"):
        page.keyboard.press(press)
        page.wait_for_timeout(500)
        assert faults(page)[0] == [], press
    page.get_by_test_id("comment-box").fill("Knees straight")
    page.keyboard.press("Enter")
    page.get_by_test_id("status").get_by_text("All kept").wait_for(timeout=60_000)
    assert faults(page)[0] == []
    page.keyboard.press("?")
    page.get_by_text("All keys").first.wait_for()
    assert faults(page)[0] == []
    page.close()
