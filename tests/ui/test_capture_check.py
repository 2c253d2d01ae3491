"""The capture check on the page of recordings, and the way to it from the Review page."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from review.actions import marks, recordings
from review.store.repository import Job, repository
from review.store.trackstore import TrackStore
from tests.homes import learners_home
from tests.store.made import WHEN
from tests.synthetic import standing, with_picture
from tests.ui.conftest import STAMPS_MS, serving

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def dark(tmp_path_factory: pytest.TempPathFactory, tiny_film: Path) -> Iterator[tuple[str, str]]:
    """Serve a home with one dark film in which a step is marked; give the address and the film's recording."""
    home, learner = learners_home(tmp_path_factory.mktemp("dark") / "home")
    film = recordings.add(home, learner, tiny_film, name="Dark attempt", checklist_id="balance_only")
    tracks = with_picture(standing(np.array(STAMPS_MS) / 1000), brightness=0.05)
    store = TrackStore(home, film.id)
    store.create(tracks)
    store.write(0, tracks, ["pose", "picture"])
    store.mark_done("all")
    with repository(home) as repo:
        marks.place(repo, learner, film, "eyes_open", None, 0.2, 1.8)
        repo.put_job(Job(film.id, "done", 1, 1, "", WHEN, None))
    with serving(home) as address:
        yield address, film.id


def test_the_check_unfolds_with_what_to_do_and_what_it_spoils(chromium: Any, dark: tuple[str, str]) -> None:
    """One line says how many things there are; unfolded, each has its advice, the steps it spoils and the guide."""
    page = chromium.new_page(viewport={"width": 1366, "height": 768})
    page.goto(f"{dark[0]}/?as=L-07")
    line = page.get_by_text("Capture check: 1 thing to do better next time")
    line.wait_for(timeout=30_000)
    advice = page.get_by_text("Switch on the room light")
    assert not advice.is_visible()
    line.click()
    advice.wait_for()
    page.get_by_text("Numbers may be missing or weak, hard to see when grading: Eyes open.").wait_for()
    page.get_by_text("Filming guide: how to do it better").click()
    page.get_by_test_id("shot").first.wait_for(timeout=30_000)
    assert page.url.endswith("/filming?as=L-07")
    page.close()


def test_the_review_page_leads_to_the_check(chromium: Any, dark: tuple[str, str]) -> None:
    """From what is amiss beside the step in hand, one click opens the check of this film, unfolded."""
    page = chromium.new_page(viewport={"width": 1366, "height": 768})
    page.goto(f"{dark[0]}/review?recording={dark[1]}&as=L-07")
    page.get_by_test_id("check-link").click(timeout=30_000)
    page.get_by_text("Switch on the room light").wait_for(timeout=30_000)
    page.close()
