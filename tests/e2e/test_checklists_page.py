"""The Checklists page in a browser: a sheet is made, changed, imported, copied, retired; every view keeps the rules."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from review.actions import checklists, people
from review.domain.checklist_text import values_of
from review.domain.model import Role
from review.store.home import Home, find_home
from review.store.repository import reading, repository
from tests.e2e.rules import broken
from tests.exchange.sheet_shapes import SHAPES
from tests.screens import serving

pytestmark = pytest.mark.browser

MERGED = next(shape for shape in SHAPES if shape.file == "merged headings.xlsx")


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Home]]:
    """Serve a home with the packaged sheets, a learner and an instructor."""
    home = find_home(tmp_path_factory.mktemp("checklists") / "home")
    with repository(home) as repo:
        checklists.install_shipped(repo)
        people.ensure(repo, "L-07", Role.LEARNER)
        people.ensure(repo, "I-02", Role.INSTRUCTOR)
    with serving(home) as address:
        yield address, home


@pytest.fixture
def page(chromium: Any, place: tuple[str, Home]) -> Iterator[Any]:
    """Open the page as the instructor."""
    opened = chromium.new_page(viewport={"width": 1366, "height": 768})
    opened.goto(f"{place[0]}/checklists?as=I-02")
    opened.get_by_test_id("new").wait_for(timeout=60_000)
    yield opened
    opened.close()


def test_a_sheet_is_changed_and_stored_as_the_next_version(page: Any, place: tuple[str, Home]) -> None:
    """A fault leads to its place; a reload keeps the draft; the stored version has the change, the old one has not."""
    page.get_by_role("link", name="Standing balance: Romberg").click()
    page.get_by_test_id("change").click()
    page.locator(".of-step").first.click()
    page.get_by_test_id("step-caution").fill("")
    page.get_by_test_id("step-points").fill("9")
    page.reload()
    page.get_by_test_id("store").click(timeout=60_000)
    page.get_by_test_id("faults").get_by_role("button", name="Preparation, Consent and safety questions").click()
    page.get_by_test_id("step-caution").fill("One yes leaves the test out.")
    page.get_by_test_id("store").click()
    page.get_by_test_id("status").get_by_text("Stored as version 2").wait_for()
    with reading(place[1]) as repo:
        points = [repo.checklist("balance_only", version).step("consent_safety").points for version in (1, 2)]
    assert points == [3, 9]


def test_a_draft_that_was_overtaken_is_not_lost(page: Any, place: tuple[str, Home]) -> None:
    """Somebody stores the next version meanwhile: storing is refused, and the draft becomes a sheet of its own."""
    page.get_by_role("link", name="Neurological screening").click()
    page.get_by_test_id("change").click()
    page.get_by_test_id("sheet-title").fill("My screening")
    with repository(place[1]) as repo:
        sheet = repo.checklist("neuro_screening")
        values = {**values_of(sheet), "summary": "Changed."}
        checklists.save_draft(repo, repo.person("L-07"), values, sheet.version)
    page.get_by_test_id("store").click()
    page.get_by_test_id("faults").get_by_text("was stored meanwhile").wait_for()
    page.reload()
    page.get_by_test_id("older").click(timeout=60_000)
    page.get_by_test_id("store").click()
    page.get_by_test_id("status").get_by_text("Stored as version 1").wait_for()
    with reading(place[1]) as repo:
        assert repo.checklist("my_screening_draft").title == "My screening, draft"


def test_a_new_sheet_is_made_from_nothing(page: Any, place: tuple[str, Home]) -> None:
    """Name, a section and a step are enough; ids are made of the names."""
    page.get_by_test_id("new").click()
    page.get_by_test_id("sheet-title").fill("Evening gait")
    page.get_by_test_id("sheet-summary").fill("One step.")
    page.locator(".of-section").click()
    page.get_by_test_id("section-title").fill("Walking")
    page.get_by_test_id("add-step").click()
    for field, text in (("title", "Heel to toe"), ("action", "Walk."), ("expected", "Steady."), ("caution", "Beside.")):
        page.get_by_test_id(f"step-{field}").fill(text)
    page.get_by_test_id("add-criterion").click()
    page.get_by_label("Criterion").fill("Looks ahead")
    page.get_by_test_id("store").click()
    page.get_by_test_id("status").get_by_text("Stored as version 1").wait_for()
    with reading(place[1]) as repo:
        (step,) = repo.checklist("evening_gait").steps()
    assert (step.id, step.criteria[0].id) == ("heel_to_toe", "looks_ahead")


def test_a_spreadsheet_is_imported_with_a_preview(page: Any, place: tuple[str, Home], tmp_path: Path) -> None:
    """The author says that a row is left out, the preview follows, and what is stored is what it showed."""
    file = tmp_path / MERGED.file
    file.write_bytes(MERGED.content())
    page.get_by_test_id("import").click()
    page.get_by_test_id("file").set_input_files(file)
    page.get_by_test_id("outcome").get_by_text("2 sections, 4 steps, 12 points").wait_for()
    page.get_by_test_id("kind-7").select_option("skip")
    page.get_by_test_id("outcome").get_by_text("2 sections, 3 steps, 9 points").wait_for()
    page.get_by_test_id("import-id").fill("romberg_evening")
    page.get_by_test_id("import-caution").fill("Guard first.")
    page.get_by_test_id("import-store").click()
    page.get_by_test_id("status").get_by_text("Stored as version 1").wait_for()
    with reading(place[1]) as repo:
        sheet = repo.checklist("romberg_evening")
    assert {step.caution for step in sheet.steps()} == {"Guard first."}
    assert sheet.rule.share == 0.8


def test_a_copy_is_stored_and_retired(page: Any, place: tuple[str, Home]) -> None:
    """It is offered until it is retired; then the list shows it apart."""
    page.get_by_role("link", name="Neurological screening").click()
    page.get_by_test_id("copy").click()
    page.get_by_test_id("copy-title").fill("Screening, evening")
    page.get_by_test_id("copy-store").click()
    page.get_by_test_id("status").get_by_text("The copy is stored").wait_for()
    page.get_by_test_id("retire").click()
    page.get_by_test_id("status").get_by_text("Not offered").wait_for()
    with reading(place[1]) as repo:
        assert "screening_evening" in repo.sheets().retired()
        assert "screening_evening" not in [sheet.id for sheet in repo.sheets().offered()]
    page.get_by_role("link", name="All checklists").click()
    page.get_by_role("list", name="Retired").get_by_text("Screening, evening").wait_for()


def test_working_as_somebody_else_stays_where_one_is(page: Any) -> None:
    """The sheet stays open, and what is stored then is stored as that person."""
    page.get_by_role("link", name="Neurological screening").first.click()
    page.get_by_test_id("reading").wait_for()
    page.get_by_test_id("person").select_option("L-07")
    page.wait_for_url("**as=L-07**")
    page.get_by_test_id("copy").wait_for()
    assert page.get_by_test_id("person").input_value() == "L-07"
    page.get_by_test_id("copy").click()
    page.get_by_test_id("copy-title").fill("Mine")
    page.get_by_test_id("copy-store").click()
    page.get_by_test_id("status").get_by_text("The copy is stored").wait_for()
    assert "L-07" in page.get_by_test_id("version").inner_text()


def test_every_view_keeps_the_rules(chromium: Any, place: tuple[str, Home], tmp_path: Path) -> None:
    """List, sheet, all forms of the editor, faults, import with its preview, and both papers."""
    page = chromium.new_page(viewport={"width": 1366, "height": 768})
    address = f"{place[0]}/checklists?as=L-07"
    page.goto(address)
    page.get_by_test_id("new").wait_for(timeout=60_000)
    assert broken(page) == []
    page.get_by_role("link", name="Neurological screening").first.click()
    page.get_by_test_id("reading").wait_for()
    page.get_by_test_id("copy").click()
    assert broken(page) == []
    page.get_by_test_id("change").click()
    page.get_by_test_id("sheet-title").fill("")
    page.get_by_test_id("store").click()
    page.get_by_test_id("faults").get_by_text("1 to mend").wait_for()
    for chosen in (".top >> nth=0", ".top >> nth=1", ".of-section >> nth=0", ".of-step >> nth=4"):
        page.locator(chosen).click()
        assert broken(page) == [], chosen
    page.get_by_test_id("throw").click()
    page.get_by_test_id("throw").click()
    file = tmp_path / MERGED.file
    file.write_bytes(MERGED.content())
    page.goto(f"{address}#import")
    page.get_by_test_id("file").set_input_files(file, timeout=60_000)
    page.get_by_test_id("preview").wait_for()
    assert broken(page) == []
    page.goto(f"{place[0]}/api/sheet/neuro_screening/paper")
    assert broken(page) == []
    page.close()
