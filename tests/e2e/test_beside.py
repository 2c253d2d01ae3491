"""The exemplar beside the film: attached by an instructor, aligned at the step's start, in step while both play."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from review.actions import erasing, exemplars, marks, people, recordings
from review.domain.model import Person, Recording, Role
from review.store.home import Home
from review.store.repository import reading, repository
from tests.e2e.coded import RATE_HZ, even_ms, open_film, shown, write_coded
from tests.homes import learners_home
from tests.screens import all_kept, serving

pytestmark = pytest.mark.browser

STEP = "position_guard"
OTHER_STEP = "eyes_open"
HERE_S, THERE_S, LENGTH_S = 1.0, 2.5, 12.0
EXEMPLAR = "3f1d8f0a-8f5e-4a43-9a0b-0c9c3c1d2e4f"

TOGETHER = """async (seconds) => {
    const root = window.film.getRootNode();
    const films = [window.film, root.querySelector("[data-testid=beside-video]")];
    const seen = [[], []];
    films.forEach((film, at) => {
        const look = (_now, facts) => {
            seen[at].push([facts.expectedDisplayTime, facts.mediaTime]);
            film.requestVideoFrameCallback(look);
        };
        film.requestVideoFrameCallback(look);
    });
    root.querySelector("[data-testid=play]").click();
    await new Promise((done) => setTimeout(done, 1000 * seconds));
    root.querySelector("[data-testid=play]").click();
    return seen;
}"""
"""Plays, and returns for both films when (ms) which of their times (s) was shown."""


@pytest.fixture(scope="module")
def filmed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Home, list[Recording], Person]]:
    """Serve a home with an older and a newer film, the step marked in both at different seconds."""
    folder = tmp_path_factory.mktemp("beside")
    home, learner = learners_home(folder / "home")
    taken = []
    for name, seconds, onset_s in (("Older", 16, THERE_S), ("Newer", 15, HERE_S)):
        film = write_coded(folder / f"{name}.mp4", even_ms(seconds + (name == "Older") / 30))
        recording = recordings.add(home, learner, film, name=name, checklist_id="balance_only")
        with repository(home) as repo:
            marks.place(repo, learner, recording, STEP, None, onset_s, onset_s + LENGTH_S)
        taken.append(recording)
    with repository(home) as repo:
        instructor = people.ensure(repo, "I-02", Role.INSTRUCTOR)
    with serving(home) as address:
        yield address, home, taken, instructor


@pytest.fixture
def page(chromium: Any) -> Iterator[Any]:
    """Return an empty page."""
    page = chromium.new_page(viewport={"width": 1366, "height": 768})
    yield page
    page.close()


def take_in_hand(page: Any, step: str = STEP) -> None:
    """Take a step in hand, and wait until it is."""
    page.locator(f'[data-testid="row"][data-key="{step}|"] .row-title').click()
    page.locator(f'[data-testid="row"][data-key="{step}|"].in-hand').wait_for(timeout=60_000)


def test_nothing_to_show_is_said(page: Any, filmed: tuple[str, Home, list[Recording], Person]) -> None:
    """A step without exemplar or earlier attempt says so, and offers a learner nothing to press."""
    open_film(page, filmed[0], filmed[2][1].id)
    take_in_hand(page, OTHER_STEP)
    page.keyboard.press("x")
    page.get_by_test_id("beside-said").get_by_text("no earlier attempt").wait_for()
    assert page.get_by_test_id("beside-attach").is_hidden()
    assert page.get_by_test_id("beside-choice").is_hidden()


def test_an_earlier_attempt_stands_beside_frame_by_frame(
    page: Any, filmed: tuple[str, Home, list[Recording], Person]
) -> None:
    """At rest both show the frame equally far after the start of the step."""
    open_film(page, filmed[0], filmed[2][1].id)
    take_in_hand(page)
    page.keyboard.press("x")
    page.get_by_test_id("beside-choice").get_by_text("Older").wait_for(state="attached")
    page.get_by_test_id("beside-said").wait_for(state="hidden")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Shift+ArrowRight")
    for key in ("ArrowRight", "ArrowRight", "ArrowLeft"):
        page.keyboard.press(key)
        page.wait_for_timeout(500)
        after = shown(page) - round(RATE_HZ * HERE_S)
        assert after > RATE_HZ
        assert shown(page, "beside-video") - round(RATE_HZ * THERE_S) == after


def test_an_instructor_makes_a_mark_the_exemplar(page: Any, filmed: tuple[str, Home, list[Recording], Person]) -> None:
    """One button attaches the mark's seconds as exemplar of the step, another takes it away again."""
    address, home, (older, _), _ = filmed
    open_film(page, address, older.id, "I-02")
    take_in_hand(page)
    page.keyboard.press("x")
    page.get_by_test_id("beside-said").get_by_text("can become one").wait_for()
    page.get_by_test_id("beside-attach").click()
    page.get_by_test_id("beside-choice").get_by_text("Exemplar of I-02").wait_for(state="attached", timeout=30_000)
    with reading(home) as repo:
        kept = [(one.step_id, one.interval.onset_s) for one in repo.exemplars().of_checklist("balance_only")]
    assert kept == [(STEP, THERE_S)]
    page.get_by_test_id("beside-detach").click()
    page.get_by_test_id("beside-said").get_by_text("can become one").wait_for(timeout=30_000)
    all_kept(page, 30_000)
    with reading(home) as repo:
        assert list(repo.exemplars().of_checklist("balance_only")) == []


def test_a_lost_film_and_another_shape_are_said(
    page: Any, filmed: tuple[str, Home, list[Recording], Person], tmp_path: Path
) -> None:
    """A film that cannot be fetched is said to be lost, and stays lost when its frame times come after that.

    Pictures of unlike shape are shown whole, which is said.
    """
    address, home, (older, newer), _ = filmed
    held: list[Any] = []
    page.route(f"**/api/media/{older.id}*", lambda route: route.abort())
    page.route(f"**/api/times/{older.id}*", lambda route: held.append(route))
    open_film(page, address, newer.id)
    take_in_hand(page)
    page.keyboard.press("x")
    lost = page.get_by_test_id("beside-said").get_by_text("cannot be played")
    lost.wait_for(timeout=90_000)
    with page.expect_response(f"**/api/times/{older.id}*"):
        held[0].continue_()
    page.wait_for_timeout(500)
    assert lost.is_visible()
    page.unroute_all()
    with repository(home) as repo:
        learner = next(one for one in repo.people() if one.code == "L-07")
    tall = recordings.add(
        home, learner, write_coded(tmp_path / "tall.mp4", even_ms(3), 400), checklist_id="balance_only"
    )
    with repository(home) as repo:
        marks.place(repo, learner, tall, STEP, None, 0.5, 2.5)
    open_film(page, address, tall.id)
    take_in_hand(page)
    page.get_by_test_id("beside").wait_for(state="attached")
    if page.get_by_test_id("beside-button").get_attribute("aria-pressed") != "true":
        page.keyboard.press("x")
    page.get_by_test_id("beside-said").get_by_text("unlike shape").wait_for()
    erasing.erase(home, learner, tall.id)


def test_both_play_in_step_for_ten_seconds(page: Any, filmed: tuple[str, Home, list[Recording], Person]) -> None:
    """Over 10 s of playing, the exemplar shows the frame that belongs to one's own, within one frame."""
    address, home, (older, newer), instructor = filmed
    with repository(home) as repo:
        exemplars.attach(repo, instructor, older, EXEMPLAR, STEP, None, older, THERE_S, THERE_S + LENGTH_S)
    open_film(page, address, newer.id)
    take_in_hand(page)
    page.keyboard.press("x")
    page.get_by_test_id("beside-choice").get_by_text("Exemplar of I-02").wait_for(state="attached")
    page.get_by_test_id("beside-said").wait_for(state="hidden")
    page.keyboard.press("Enter")
    page.wait_for_timeout(1000)
    own, other = (np.array(seen) for seen in page.evaluate(TOGETHER, 10.5))
    apart = (np.interp(own[:, 0], other[:, 0], other[:, 1]) - THERE_S) - (own[:, 1] - HERE_S)
    inside = (own[:, 0] >= other[0, 0]) & (own[:, 0] <= other[-1, 0])
    settled = own[:, 0] - own[0, 0] > SETTLING_MS
    frames = np.abs(apart[inside & settled]) * RATE_HZ
    assert len(frames) > 30
    assert np.mean(frames <= 1 + ROUNDING) > 0.95, frames.round(1).tolist()


ROUNDING = 0.05
"""Presentation times are whole milliseconds: two frames of 30 a second may be told a thirtieth more or less apart."""

SETTLING_MS = 1000.0
"""How long two films may take to fall into step after a start."""
