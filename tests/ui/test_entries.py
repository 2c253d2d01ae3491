"""Results typed in on a step, in a real browser: what they are read as at once, what is refused, and what is kept."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from review.domain.model import Recording
from review.store.home import Home
from review.store.repository import reading
from tests.ui.conftest import Site
from tests.ui.test_review_page import kept, open_review, row

pytestmark = pytest.mark.browser

ACUITY, OTHER_EYE, KNEE = "cn2_acuity_far|right", "cn2_acuity_far|left", "reflex_patellar|left"


@pytest.fixture(scope="module")
def page(chromium: Any, dashboard: str, furnished: tuple[Home, Recording]) -> Iterator[Any]:
    """Open the Review page of the tiny attempt, as the learner."""
    page = chromium.new_page(viewport={"width": 1366, "height": 768})
    open_review(page, f"{dashboard}/review?recording={furnished[1].id}&as=L-07")
    yield page
    page.close()


def take(page: Any, key: str) -> None:
    """Take a step in hand."""
    row(page, key).locator(".row-title").click()


def said(page: Any, words: str) -> None:
    """Wait until the words stand beside the field."""
    page.get_by_test_id("entry-said").get_by_text(words).wait_for()


def entries(furnished: tuple[Home, Recording]) -> list[tuple[str, str | None, str, str]]:
    """Return what is stored: step, side, text, and who entered it."""
    home, recording = furnished
    with reading(home) as repo:
        codes = {person.id: person.code for person in repo.people()}
        found = repo.entries(recording.id)
    return [(entry.step_id, entry.side, entry.text, codes[entry.person_id]) for entry in found]


def test_an_entry_is_said_in_all_notations_and_kept(page: Any, furnished: tuple[Home, Recording]) -> None:
    """By keys alone: E, the text, Enter; conversions stand beside the field before it is kept and in its row after."""
    take(page, ACUITY)
    page.keyboard.press("e")
    page.keyboard.type("6/12 with glasses")
    said(page, "20/40, 6/12, decimal 0.50, logMAR 0.30; with glasses")
    assert entries(furnished) == []
    page.keyboard.press("Enter")
    row(page, ACUITY).get_by_test_id("entered").get_by_text("logMAR 0.30; with glasses").wait_for()
    kept(page)
    assert entries(furnished) == [("cn2_acuity_far", "right", "6/12 with glasses", "L-07")]
    assert row(page, ACUITY).locator('[data-testid="grade"][aria-pressed="true"]').count() == 0


def test_the_field_fits(page: Any) -> None:
    """Nothing overlaps: the field lies between the film's buttons and the timeline, and the page does not scroll."""
    take(page, ACUITY)
    field, lines = page.locator(".entry").bounding_box(), page.get_by_test_id("timeline").bounding_box()
    buttons, hand = page.locator(".transport").bounding_box(), page.locator(".hand").bounding_box()
    assert hand["y"] + hand["height"] <= buttons["y"]
    assert buttons["y"] + buttons["height"] <= field["y"]
    assert field["y"] + field["height"] <= lines["y"]
    assert lines["y"] + lines["height"] <= 768
    assert page.evaluate("document.documentElement.scrollHeight") <= 768
    assert page.get_by_test_id("video").bounding_box()["height"] > 260
    take(page, "hand_hygiene|")
    assert page.locator(".entry").is_hidden()


def test_what_cannot_be_is_told_beside_the_field_and_not_kept(page: Any, furnished: tuple[Home, Recording]) -> None:
    """All faults are told; Enter keeps nothing; Escape leaves what was kept before."""
    take(page, OTHER_EYE)
    page.keyboard.press("e")
    page.keyboard.type("0/20 -9")
    said(page, "0/20 has 0 above")
    said(page, "-9 letters came")
    page.keyboard.press("Enter")
    assert page.get_by_test_id("entry-box").get_attribute("aria-invalid") == "true"
    page.keyboard.press("Escape")
    assert page.get_by_test_id("entry-box").input_value() == ""
    kept(page)
    assert len(entries(furnished)) == 1


def test_a_grade_needs_its_scale(page: Any, furnished: tuple[Home, Recording]) -> None:
    """A reflex grade alone is refused; with the scale chosen beside it, both are kept, and the scale is remembered."""
    take(page, KNEE)
    page.keyboard.press("e")
    page.keyboard.type("2+")
    said(page, "The scale's name is missing")
    page.get_by_test_id("entry-scale").select_option("NINDS")
    said(page, "2 on NINDS: lower half of the normal range")
    page.get_by_test_id("entry-keep").click()
    row(page, KNEE).get_by_test_id("entered").get_by_text("lower half of the normal range").wait_for()
    kept(page)
    assert entries(furnished)[-1] == ("reflex_patellar", "left", "2+ on NINDS", "L-07")
    take(page, KNEE.replace("left", "right"))
    assert page.get_by_test_id("entry-scale").input_value() == "NINDS"


def test_what_was_begun_waits_while_another_step_is_looked_at(page: Any) -> None:
    """A text not kept yet is there again when its step is taken in hand again."""
    take(page, OTHER_EYE)
    page.keyboard.press("e")
    page.keyboard.type("6/9")
    take(page, ACUITY)
    assert page.get_by_test_id("entry-box").input_value() == "6/12 with glasses"
    take(page, OTHER_EYE)
    assert page.get_by_test_id("entry-box").input_value() == "6/9"
    page.get_by_test_id("entry-box").press("Escape")


def test_going_on_at_once_loses_nothing(page: Any, furnished: tuple[Home, Recording]) -> None:
    """A result kept with Enter belongs to its step, however soon another step is taken in hand."""
    take(page, OTHER_EYE)
    page.keyboard.press("e")
    page.keyboard.type("6/9 corrected")
    page.keyboard.press("Enter")
    take(page, ACUITY)
    row(page, OTHER_EYE).get_by_test_id("entered").get_by_text("logMAR 0.18; corrected").wait_for()
    assert ("cn2_acuity_far", "left", "6/9 corrected", "L-07") in entries(furnished)


def test_others_results_are_covered_until_graded(page: Any) -> None:
    """A peer sees a learner's result only after grading the step oneself and saying how sure one is."""
    page.get_by_test_id("person").select_option("L-12")
    page.wait_for_url("**as=L-12**")
    take(page, ACUITY)
    cover = row(page, ACUITY).get_by_text("Results of others are covered")
    cover.wait_for()
    page.keyboard.press("1")
    page.keyboard.press("Shift+1")
    kept(page)
    cover.wait_for(state="detached")
    assert "L-07 (learner)" in row(page, ACUITY).get_by_test_id("entered").inner_text()
    page.get_by_test_id("person").select_option("L-07")
    page.wait_for_url("**as=L-07**")


def test_an_entry_can_be_taken_back(page: Any, furnished: tuple[Home, Recording]) -> None:
    """Take back empties the field and the row; the rest stays."""
    take(page, ACUITY)
    page.get_by_test_id("entry-back").click()
    kept(page)
    assert page.get_by_test_id("entry-box").input_value() == ""
    assert [entry[:2] for entry in entries(furnished)] == [("reflex_patellar", "left"), ("cn2_acuity_far", "left")]


def test_the_server_says_what_a_text_would_be(site: Site) -> None:
    """Words for a good text, faults for another, a sentence where there is no field; an unknown step is not found."""
    asked = f"/api/entry/{site.recording.id}?step=cn8_rinne&side=left&text="
    assert site.ask("GET", asked + "air").said == {"words": "air longer than bone", "faults": []}
    assert site.ask("GET", asked + "up").said["faults"][0] == "'up' was not understood."
    none = site.ask("GET", f"/api/entry/{site.recording.id}?step=hand_hygiene&text=2").said
    assert none == {"words": "", "faults": ["This step takes no entry."]}
    assert site.ask("GET", f"/api/entry/{site.recording.id}?step=nowhere&text=2").status == 404
