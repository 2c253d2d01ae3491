"""The outcome and the sign-off on the Review page: an instructor signs, the learner reads, a change since is said."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from review.actions import grades
from review.domain.model import Person, Recording
from review.domain.signoff import Finding
from review.store.home import Home
from review.store.repository import reading, repository
from tests.e2e.coded import open_film
from tests.e2e.rules import broken
from tests.e2e.sheets import STEPS, furnish
from tests.screens import serving

pytestmark = pytest.mark.browser

SIZE = {"width": 1366, "height": 768}
PATIENCE_MS = 60_000

Site = tuple[str, Home, Recording, dict[str, Person]]


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """Serve a home with a film, of which the instructor has graded all steps but the last."""
    home, recording, cast = furnish(tmp_path_factory.mktemp("outcome"), rule="[pass]\nshare = 0.8\n")
    with repository(home) as repo:
        for number in range(1, STEPS):
            grades.give(repo, cast["I-02"], recording, f"step_{number}", None, "done", confidence=3)
    with serving(home) as address:
        yield address, home, recording, cast


def opened(chromium: Any, site: Site, person: str) -> Any:
    """Open the recording as a person, and go to the outcome by its key."""
    page = chromium.new_context(viewport=SIZE).new_page()
    open_film(page, site[0], site[2].id, person)
    page.keyboard.press("p")
    page.get_by_test_id("outcome").wait_for()
    return page


def test_an_instructor_signs_by_keys_and_the_learner_reads_it(chromium: Any, site: Site) -> None:
    """Missing grades are listed; graded, the finding is signed after it was asked for twice; the learner is told it."""
    page = opened(chromium, site, "I-02")
    page.get_by_test_id("sign-said").get_by_text("Not graded yet: Step number 12.").wait_for()
    assert page.get_by_test_id("sign").is_disabled()
    page.get_by_test_id("sum").get_by_text("Passed: 11 of 12 points so far").wait_for()
    page.keyboard.press("p")
    page.locator('[data-testid="row"][data-key="step_12|"] .row-title').click()
    page.keyboard.press("3")
    page.keyboard.press("p")
    page.get_by_test_id("sum").get_by_text("Passed: 11 of 12 points, 91.6 %").wait_for(timeout=PATIENCE_MS)
    page.locator('[data-testid="sign"]:enabled').wait_for(timeout=PATIENCE_MS)
    page.get_by_test_id("finding").first.focus()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Tab")
    page.keyboard.type("Step 12 shown again by 16 March.")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.get_by_test_id("sign").get_by_text("Sure? Sign as passed with conditions").wait_for()
    page.keyboard.press("Enter")
    page.get_by_test_id("signed").get_by_text("Passed with conditions").wait_for(timeout=PATIENCE_MS)
    page.get_by_role("tab", name="Outcome: signed").wait_for()
    page.context.close()
    with reading(site[1]) as repo:
        (kept,) = repo.sign_offs().of(site[2].id)
    assert (kept.finding, kept.conditions) == (Finding.WITH_CONDITIONS, "Step 12 shown again by 16 March.")
    learner = opened(chromium, site, "L-07")
    signed = learner.get_by_test_id("signed")
    assert "Step 12 shown again by 16 March." in signed.inner_text()
    assert "91.6" not in signed.inner_text()
    assert not learner.get_by_test_id("sign-form").is_visible()
    with repository(site[1]) as repo:
        grades.give(repo, site[3]["I-02"], site[2], "step_3", None, "missed", confidence=3)
    learner.get_by_test_id("sign-warning").get_by_text("Changed since it was signed").wait_for(timeout=PATIENCE_MS)
    learner.get_by_role("tab", name="Outcome: changed since signed").wait_for()
    assert "Step number 3" not in learner.get_by_test_id("sign-warning").inner_text()
    learner.context.close()


def test_what_is_refused_says_why_beside_the_form(chromium: Any, site: Site) -> None:
    """A finding against the sheet's rule comes back with the rule's reasons, and the draft stays."""
    _, home, recording, cast = site
    with repository(home) as repo:
        for number in range(1, STEPS + 1):
            level = "missed" if number > 6 else "done"
            grades.give(repo, cast["I-02"], recording, f"step_{number}", None, level, confidence=3)
    page = opened(chromium, site, "I-02")
    page.get_by_test_id("finding").first.check()
    page.get_by_test_id("sign").click()
    page.get_by_test_id("sign").click()
    said = page.get_by_test_id("sign-said")
    said.get_by_text("By the sheet's own rule your grades come to: not passed.").wait_for(timeout=PATIENCE_MS)
    assert page.get_by_test_id("finding").first.is_checked()
    page.get_by_test_id("sign-words").fill("Shown at once again; the camera missed it.")
    page.get_by_test_id("sign").click()
    page.get_by_test_id("sign").click()
    page.get_by_test_id("signed").get_by_text("Shown at once again").wait_for(timeout=PATIENCE_MS)
    page.context.close()


def test_the_outcome_keeps_the_rules(chromium: Any, site: Site) -> None:
    """Outcome, sign-off and the form, with a button that asks once more, are held against axe-core's rules."""
    page = chromium.new_context(viewport=SIZE).new_page()
    open_film(page, site[0], site[2].id, "I-02")
    page.keyboard.press("p")
    page.get_by_test_id("finding").first.check()
    page.get_by_test_id("sign").click()
    assert broken(page) == []
    page.context.close()
