"""Who is examined, in a real browser: who is taken for it is shown, and another can be pointed at."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from review.actions import recordings
from review.domain.model import Recording
from review.store.home import Home
from review.store.repository import reading, repository
from tests.crowds import seen_together
from tests.films import even_times, make_film
from tests.ui.conftest import Site
from tests.ui.test_review_page import kept

pytestmark = pytest.mark.browser

SIZE = (1280, 720)


@pytest.fixture(scope="module")
def crowded(furnished: tuple[Home, Recording], tmp_path_factory: pytest.TempPathFactory) -> tuple[Home, Recording]:
    """Add a film in whose first look two invented people were seen, as if it had been analysed."""
    home = furnished[0]
    film = make_film(tmp_path_factory.mktemp("crowd") / "pair.mp4", even_times(60), size=SIZE)
    with reading(home) as repo:
        learner = repo.person("L-07")
    recording = recordings.add(home, learner, film, name="A pair")
    seen_together(home, recording)
    with repository(home) as repo:
        job = repo.job(recording.id)
        assert job is not None
        repo.put_job(replace(job, state="done", done=60))
    return home, recording


@pytest.fixture
def page(chromium: Any, dashboard: str, crowded: tuple[Home, Recording]) -> Iterator[Any]:
    """Open the Review page of the pair, as the learner."""
    page = chromium.new_page(viewport={"width": 1366, "height": 768})
    page.goto(f"{dashboard}/review?recording={crowded[1].id}&as=L-07")
    page.get_by_test_id("frame").get_by_text("of 60").wait_for(timeout=30_000)
    yield page
    page.close()


def boxes(page: Any) -> dict[str, Any]:
    """Open the view of who is examined by its key; return the boxes by their words."""
    page.keyboard.press("w")
    page.get_by_test_id("who-box").first.wait_for()
    return {one.inner_text(): one for one in page.get_by_test_id("who-box").all()}


def test_the_guess_is_shown_and_a_click_on_the_other_is_kept(page: Any, crowded: tuple[Home, Recording]) -> None:
    """Both people have a box where they stand; clicking the other one stores a pointing, and the film waits again."""
    home, recording = crowded
    page.get_by_test_id("examined").get_by_text("Who is examined?").wait_for()
    shown = boxes(page)
    assert sorted(name.startswith("Person") for name in shown) == [False, True]
    film = page.get_by_test_id("video").bounding_box()
    place = shown["Examined"].bounding_box()
    assert (place["x"] + place["width"] / 2 - film["x"]) / film["width"] == pytest.approx(700 / 1280, abs=0.03)
    other = next(box for name, box in shown.items() if name.startswith("Person"))
    other.click()
    kept(page)
    with reading(home) as repo:
        (pointing,) = repo.pointings(recording.id)
        job = repo.job(recording.id)
    assert pointing.x == pytest.approx(250 / 1280, abs=0.03)
    assert job is not None
    assert job.state == "waiting"
    page.get_by_text("Waits for its turn").wait_for()
    again = boxes(page)
    assert again["Examined"].bounding_box()["x"] < place["x"]
    page.get_by_text("Guess again").click()
    kept(page)
    with reading(home) as repo:
        assert repo.pointings(recording.id) == ()


def test_pointing_works_without_a_mouse_and_escape_leaves_it(page: Any, crowded: tuple[Home, Recording]) -> None:
    """The boxes are buttons in the order of the list: Tab and Enter choose one; Escape closes and nothing is kept."""
    home, recording = crowded
    boxes(page)
    page.keyboard.press("Escape")
    assert not page.get_by_test_id("who").is_visible()
    boxes(page)
    page.keyboard.press("Enter")
    kept(page)
    with reading(home) as repo:
        assert len(repo.pointings(recording.id)) == 1


def test_the_route_tells_everybody_who_was_seen(site: Site, crowded: tuple[Home, Recording]) -> None:
    """Ten looks with two boxes each, in shares of the picture, one of them examined."""
    answer = site.ask("GET", f"/api/people/{crowded[1].id}?as=L-07")
    said = json.loads(answer.body)
    assert answer.status == 200
    assert len(said["looks"]) == 10
    for look in said["looks"]:
        assert sum(one["examined"] for one in look["people"]) == 1
        assert all(0 <= one[name] <= 1 for one in look["people"] for name in ("x", "y", "width", "height"))
    assert np.diff([look["time_s"] for look in said["looks"]]).min() > 0


def test_a_film_with_one_person_asks_nothing(chromium: Any, dashboard: str, furnished: tuple[Home, Recording]) -> None:
    """Without a second person there is no button, and the key says why."""
    page = chromium.new_page(viewport={"width": 1366, "height": 768})
    page.goto(f"{dashboard}/review?recording={furnished[1].id}&as=L-07")
    page.get_by_test_id("frame").get_by_text("of 52").wait_for(timeout=30_000)
    assert not page.get_by_test_id("examined").is_visible()
    page.keyboard.press("w")
    page.get_by_text("Only one person was seen").wait_for()
    page.close()
