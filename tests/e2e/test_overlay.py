"""Landmarks over the picture: on the frame that is shown, at the right place, whatever the picture is seen through."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from review.actions import marks, recordings
from review.domain.model import Recording
from review.domain.tracks import NOT_LOOKED
from review.store.home import Home
from review.store.media import load_times
from review.store.repository import repository
from review.store.trackstore import TrackStore
from tests.e2e.coded import BITS, BLOCK_PX, HEIGHT_PX, even_ms, open_film, shown, write_coded
from tests.homes import learners_home
from tests.screens import serving
from tests.synthetic import standing

pytestmark = pytest.mark.browser

WIDTH_PX = BITS * BLOCK_PX
STEP = "position_guard"
EVERY = 2
UNSEEN = (150, 200)
"""Frames that were not looked at at all."""

DRAWN = """(canvas) => {
    const { width, height } = canvas;
    const data = canvas.getContext("2d").getImageData(0, 0, width, height).data;
    let [left, right] = [Infinity, -Infinity];
    for (let at = 3; at < data.length; at += 4) {
        if (!data[at]) continue;
        const x = ((at - 3) / 4) % width;
        [left, right] = [Math.min(left, x), Math.max(right, x)];
    }
    const scale = width / canvas.clientWidth;
    return right < left ? null : [(left + right + 1) / 2 / scale, canvas.clientWidth, canvas.clientHeight];
}"""
"""Returns the middle of all that is drawn, and the size of the canvas, in CSS px."""


def walk_px(frame: int) -> float:
    """How far the person of the film has walked to the side by a frame."""
    return 0.5 * (frame - 120)


@pytest.fixture(scope="module")
def filmed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Home, Recording]]:
    """Serve a home with one film, on which somebody walks to the side, looked at in every second frame."""
    folder = tmp_path_factory.mktemp("overlay")
    home, learner = learners_home(folder / "home")
    film = write_coded(folder / "film.mp4", even_ms(8))
    recording = recordings.add(home, learner, film, name="Walker", checklist_id="balance_only")
    times = load_times(home, recording.sha256)
    tracks = standing(
        times,
        stance=0.8,
        walk_px=lambda at: np.array([walk_px(round(30 * time)) for time in at]),
        height_px=140.0,
        size=(WIDTH_PX, HEIGHT_PX),
    )
    number = np.arange(len(times))
    tracks["pose_state"].values[(number % EVERY > 0) | ((number >= UNSEEN[0]) & (number < UNSEEN[1]))] = NOT_LOOKED
    store = TrackStore(home, recording.id)
    store.create(tracks)
    store.write(0, tracks, ["pose"])
    store.mark_done("all")
    with repository(home) as repo:
        marks.place(repo, learner, recording, STEP, None, 1.0, 4.9)
    with serving(home) as address:
        yield address, home, recording


@pytest.fixture
def page(chromium: Any, filmed: tuple[str, Home, Recording]) -> Iterator[Any]:
    """Open the film with the landmarks switched on."""
    page = chromium.new_page(viewport={"width": 1366, "height": 768})
    open_film(page, filmed[0], filmed[2].id)
    page.keyboard.press("o")
    page.get_by_test_id("overlay-legend").get_by_text("covered").wait_for()
    yield page
    page.close()


def go_to(page: Any, frame: int) -> None:
    """Show a frame, by the keys, and wait until it is drawn over."""
    page.get_by_test_id("video").evaluate("(film, time) => { film.currentTime = time; }", (frame + 0.5) / 30)
    page.get_by_test_id("frame").get_by_text(f"frame {frame + 1} of").wait_for(state="attached")
    drawn_for(page, frame)


def drawn_for(page: Any, frame: int) -> None:
    """Wait until what is drawn is that of a frame."""
    page.wait_for_function(
        """(time) => {
            const canvas = window.film.getRootNode().querySelector("[data-testid=overlay-canvas]");
            return canvas.dataset.time !== "" && Math.abs(Number(canvas.dataset.time) - time) < 0.005;
        }""",
        arg=frame / 30,
    )


def middle(page: Any) -> float | None:
    """Return the middle of what is drawn, in px of the unmirrored picture, by the frame's own size and nearness."""
    drawn = page.get_by_test_id("overlay-canvas").evaluate(DRAWN)
    if drawn is None:
        return None
    x, width, height = drawn
    near = page.get_by_test_id("lens").evaluate("lens => new DOMMatrix(getComputedStyle(lens).transform).a")
    scale = near * min(width / WIDTH_PX, height / HEIGHT_PX)
    return float(WIDTH_PX / 2 + (x - width / 2) / scale)


def expected(frame: int) -> float:
    """Return where the walker is in the last frame looked at."""
    return WIDTH_PX / 2 + walk_px(frame - frame % EVERY)


def test_landmarks_are_those_of_the_frame_on_the_screen(page: Any) -> None:
    """By frame steps and seeks, what is drawn is where the walker is in the frame that the picture itself shows."""
    for frame in (60, 61, 62, 121):
        go_to(page, frame)
        assert shown(page) == frame
        assert middle(page) == pytest.approx(expected(frame), abs=0.5)
    page.keyboard.press("ArrowRight")
    page.get_by_test_id("frame").get_by_text("frame 123 of").wait_for(state="attached")
    drawn_for(page, 122)
    assert shown(page) == 122
    assert middle(page) == pytest.approx(expected(122), abs=0.5)


def test_landmarks_follow_while_the_film_plays(page: Any) -> None:
    """Stopped anywhere in playing, landmarks and picture are of one frame."""
    go_to(page, 40)
    for _ in range(3):
        page.keyboard.press("Space")
        page.wait_for_timeout(300)
        page.keyboard.press("Space")
        page.wait_for_function("() => window.film.paused && !window.film.seeking")
        page.wait_for_timeout(800)
        drawn_for(page, shown(page))
        assert middle(page) == pytest.approx(expected(shown(page)), abs=0.5)


def test_frames_not_looked_at_show_the_last_one_or_nothing(page: Any) -> None:
    """Up to a quarter of a second the last look stays; after that there is nothing to show."""
    go_to(page, UNSEEN[0] + 5)
    assert middle(page) == pytest.approx(WIDTH_PX / 2 + walk_px(UNSEEN[0] - EVERY), abs=0.5)
    go_to(page, UNSEEN[0] + 20)
    assert middle(page) is None


@pytest.mark.parametrize("size", [(1366, 768), (1024, 768), (1600, 1000)])
def test_landmarks_stay_in_place_when_the_picture_is_seen_otherwise(page: Any, size: tuple[int, int]) -> None:
    """Nearer, in another window, with bars beside the picture: the walker is drawn where the walker is."""
    page.set_viewport_size({"width": size[0], "height": size[1]})
    go_to(page, 124)
    for key in ("0", "+", "+"):
        page.keyboard.press(key)
        page.wait_for_timeout(100)
        assert middle(page) == pytest.approx(expected(124), abs=0.5)
    page.keyboard.press("0")


def test_a_mirrored_film_is_flipped_and_its_landmarks_are_not(
    chromium: Any, filmed: tuple[str, Home, Recording]
) -> None:
    """Tracks are of the unmirrored picture, which is what is shown: they are drawn as they are."""
    address, home, recording = filmed
    with repository(home) as repo:
        repo.update_recording(replace(recording, mirrored=True))
    page = chromium.new_page(viewport={"width": 1366, "height": 768})
    try:
        open_film(page, address, recording.id)
        page.keyboard.press("o")
        go_to(page, 60)
        assert page.evaluate("getComputedStyle(window.film).transform") == "matrix(-1, 0, 0, 1, 0, 0)"
        assert middle(page) == pytest.approx(expected(60), abs=0.5)
    finally:
        page.close()
        with repository(home) as repo:
            repo.update_recording(recording)


def test_what_the_measures_rest_on_comes_when_the_step_is_uncovered(page: Any) -> None:
    """Before the step is graded only landmarks are drawn; then the ankles' line with its number, in the step only."""
    page.locator(f'[data-testid="row"][data-key="{STEP}|"] .row-title').click()
    go_to(page, 60)
    legend = page.get_by_test_id("overlay-legend")
    legend.get_by_text("covered until you have graded").wait_for()
    page.keyboard.press("1")
    page.keyboard.press("Shift+3")
    legend.get_by_text("ankle to ankle").wait_for(timeout=30_000)
    assert float(legend.locator("li", has_text="ankle to ankle").locator("b").inner_text().split()[0]) == pytest.approx(
        0.8, abs=0.05
    )
    go_to(page, 10)
    legend.get_by_text("within the step's seconds").wait_for()
