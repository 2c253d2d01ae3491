"""Proposals on the Review page: taken, moved, refused and undone by keys; what was refused stays away."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import pytest

from review.actions import checklists, people, recordings
from review.domain.model import Person, Recording, Role
from review.store.home import Home, find_home
from review.store.repository import reading, repository
from review.store.rows import Job
from review.store.words import WordStore
from tests.e2e.coded import even_ms, open_film, write_coded
from tests.pipeline.test_proposals import BALANCE, said
from tests.screens import all_kept, serving

pytestmark = pytest.mark.browser

PATIENCE_MS = 60_000
FILM_S, RATE_HZ = 62.0, 10

Site = tuple[str, Home, Recording, Person]


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """Serve a home with a film of a minute in which a learner says a short attempt; nothing of it is marked."""
    folder = tmp_path_factory.mktemp("proposals")
    home = find_home(folder / "home")
    with repository(home) as repo:
        checklists.install_shipped(repo)
        learner = people.ensure(repo, "L-07", Role.LEARNER)
    film = write_coded(folder / "film.mp4", even_ms(FILM_S, RATE_HZ))
    recording = recordings.add(home, learner, film, checklist_id="balance_only", name="Spoken")
    WordStore(home, recording.id).put(0, recording.frames, said(BALANCE))
    with repository(home) as repo:
        repo.put_job(Job(recording.id, "done", recording.frames, recording.frames, "", datetime.now(UTC)))
    with serving(home) as address:
        yield address, home, recording, learner


def _kept(page: Any) -> None:
    all_kept(page, PATIENCE_MS)


def test_proposals_are_taken_moved_and_refused_by_keys(chromium: Any, site: Site) -> None:
    """One key each; undo takes a refusal back, a refusal outlives a reload, and only what was taken is a mark."""
    address, home, recording, learner = site
    page = chromium.new_context(viewport={"width": 1366, "height": 768}).new_page()
    open_film(page, address, recording.id, "L-07")
    bar, hand = page.get_by_test_id("proposal-bar"), page.locator('[data-testid="row"].in-hand')
    bar.get_by_text("steps proposed").wait_for(timeout=PATIENCE_MS)
    with reading(home) as repo:
        assert repo.marks(recording.id) == ()
    line = hand.get_by_test_id("proposal")
    page.keyboard.press("j")
    line.get_by_text("right (").wait_for()
    assert "heard" not in line.inner_text()
    page.keyboard.press("r")
    line.get_by_text("heard").wait_for(timeout=PATIENCE_MS)
    taken = hand.get_attribute("data-key")
    page.keyboard.press("k")
    line.wait_for(state="detached")
    page.keyboard.press("j")
    moved = hand.get_attribute("data-key")
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("m")
    line.wait_for(state="detached")
    page.keyboard.press("j")
    refused = hand.get_attribute("data-key")
    page.keyboard.press("b")
    line.wait_for(state="detached")
    _kept(page)
    page.keyboard.press("u")
    line.get_by_text("proposed").wait_for(timeout=PATIENCE_MS)
    page.get_by_test_id("proposal-refuse").click()
    line.wait_for(state="detached")
    _kept(page)
    page.reload()
    bar.get_by_text("proposed").wait_for(timeout=PATIENCE_MS)
    rows = page.locator('[data-testid="row"]:has([data-testid="proposal"])')
    assert {taken, moved, refused}.isdisjoint(rows.evaluate_all("rows => rows.map((row) => row.dataset.key)"))
    with reading(home) as repo:
        marked = [f"{mark.step_id}|{mark.side or ''}" for mark in repo.marks(recording.id)]
        assert sorted(marked) == sorted([taken, moved])
        assert [f"{one.step_id}|" for one in repo.refusals().of(recording.id, learner.id)] == [refused]


def test_sure_ones_are_taken_together_only_when_each_was_named(chromium: Any, site: Site) -> None:
    """The button asks first, with a list; declined nothing is marked, agreed all of the list is."""
    address, home, recording, _ = site
    page = chromium.new_context(viewport={"width": 1366, "height": 768}).new_page()
    open_film(page, address, recording.id, "L-07")
    button, dialog = page.get_by_test_id("proposal-sure"), page.locator("dialog.sure-ones")
    button.wait_for(timeout=PATIENCE_MS)
    with reading(home) as repo:
        before = len(repo.marks(recording.id))
    button.click()
    listed = dialog.locator("li").count()
    assert dialog.get_by_role("heading").inner_text().startswith(f"Take {listed} ")
    dialog.get_by_text("Take none").click()
    button.click()
    dialog.get_by_test_id("proposal-sure-yes").click()
    button.wait_for(state="hidden")
    _kept(page)
    with reading(home) as repo:
        assert len(repo.marks(recording.id)) == before + listed > before
