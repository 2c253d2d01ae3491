"""The film in a real browser: speed, loop, how near, dividers, and that all of it is found again."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import pytest

from review.actions import marks, recordings
from review.domain.model import Recording
from review.store.repository import repository
from tests.e2e.coded import even_ms, open_film, shown, write_coded
from tests.e2e.touch import Fingers
from tests.homes import learners_home
from tests.screens import serving

pytestmark = pytest.mark.browser

STEP = ("hand_hygiene", None)
ONSET_S, OFFSET_S = 2.0, 2.6
SLOW_MACHINE_FRAMES = 6
"""How many frames beyond the end a machine may show that is too busy to draw every frame."""

SIZE = {"width": 1366, "height": 768}


@pytest.fixture(scope="module")
def filmed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Recording]]:
    """Serve a home with one film of 8 s, on which a step is marked from 2.0 to 2.6 s."""
    folder = tmp_path_factory.mktemp("player")
    home, learner = learners_home(folder / "home")
    recording = recordings.add(home, learner, write_coded(folder / "film.mp4", even_ms(8)), name="Coded")
    with repository(home) as repo:
        marks.place(repo, learner, recording, *STEP, ONSET_S, OFFSET_S)
    with serving(home) as address:
        yield address, recording


@pytest.fixture(scope="module")
def context(chromium: Any) -> Iterator[Any]:
    """Return a browser context: what one person's browser remembers."""
    context = chromium.new_context(viewport=SIZE)
    yield context
    context.close()


@pytest.fixture
def page(context: Any, filmed: tuple[str, Recording]) -> Iterator[Any]:
    """Open the film anew."""
    page = context.new_page()
    open_film(page, filmed[0], filmed[1].id)
    yield page
    page.close()


def lens(page: Any) -> list[float]:
    """Return how much larger the picture is drawn, and how far it is moved right and down, CSS px."""
    found: list[float] = page.get_by_test_id("lens").evaluate(
        "lens => { const m = new DOMMatrix(getComputedStyle(lens).transform); return [m.a, m.e, m.f]; }"
    )
    return found


def test_speeds_go_up_and_down_with_the_pitch_kept(page: Any) -> None:
    """F and S go through the list of speeds and stop at its ends; the voice keeps its pitch."""
    rate = "(film) => [film.playbackRate, film.preservesPitch]"
    video = page.get_by_test_id("video")
    seen = []
    for key in "fffffsssssssss":
        page.keyboard.press(key)
        seen.append(video.evaluate(rate))
    assert [speed for speed, _ in seen] == [1.25, 1.5, 2, 3, 3, 2, 1.5, 1.25, 1, 0.75, 0.5, 0.25, 0.25, 0.25]
    assert all(kept for _, kept in seen)
    page.get_by_test_id("speed").select_option("1")
    assert video.evaluate(rate) == [1, True]


def test_the_step_in_hand_is_played_again_and_again(page: Any) -> None:
    """With the loop on, playing stays within the step's frames and comes back to its first one."""
    page.keyboard.press("l")
    video = page.get_by_test_id("video")
    frames = video.evaluate(
        """(film) => new Promise((done) => {
            const seen = [];
            const look = (_now, facts) => {
                seen.push(Math.round(facts.mediaTime * 30));
                if (seen.length > 90) done(seen); else film.requestVideoFrameCallback(look);
            };
            film.requestVideoFrameCallback(look);
            film.getRootNode().querySelector("[data-testid=play]").click();
        })"""
    )
    page.keyboard.press("l")
    page.keyboard.press("Space")
    first, last = round(ONSET_S * 30), round(OFFSET_S * 30)
    assert first <= min(frames), frames
    assert max(frames) <= last + SLOW_MACHINE_FRAMES, frames
    assert sum(later < earlier for earlier, later in pairwise(frames)) >= 2, frames


def test_picture_comes_nearer_and_goes_back(page: Any) -> None:
    """Keys make the picture larger about its middle; 0 shows all of it; the interface keeps its size."""
    button = page.get_by_test_id("nearer").bounding_box()
    for _ in range(3):
        page.keyboard.press("+")
    assert lens(page)[0] == pytest.approx(1.5**3, rel=1e-3)
    assert page.get_by_test_id("zoom-words").inner_text() == "3.4 times nearer"
    assert page.get_by_test_id("nearer").bounding_box() == button
    page.keyboard.press("-")
    assert lens(page)[0] == pytest.approx(1.5**2, rel=1e-3)
    page.keyboard.press("0")
    assert lens(page) == [1, 0, 0]
    assert page.get_by_test_id("zoom-words").is_hidden()


def test_the_wheel_keeps_what_is_under_the_pointer(page: Any) -> None:
    """Turning the wheel enlarges about the pointer; dragging then moves the picture along with the hand."""
    box = page.get_by_test_id("film").bounding_box()
    at = (box["x"] + 0.3 * box["width"], box["y"] + 0.6 * box["height"])
    page.mouse.move(*at)
    page.mouse.wheel(0, -300)
    page.wait_for_function(
        "() => new DOMMatrix(getComputedStyle(window.film.parentElement).transform).a > 1", timeout=5000
    )
    scale, right, down = lens(page)
    local = (0.3 * box["width"], 0.6 * box["height"])
    assert (scale * local[0] + right, scale * local[1] + down) == pytest.approx(local, abs=1.0)
    page.mouse.down()
    page.mouse.move(at[0] + 20, at[1] + 10, steps=4)
    page.mouse.up()
    assert lens(page)[1:] == pytest.approx([right + 20, down + 10], abs=1.0)
    assert page.get_by_test_id("video").evaluate("film => film.paused")
    page.keyboard.press("0")


@pytest.mark.parametrize("way", [(1, 0), (0, 1), (0.7, 0.7)], ids=["across", "upright", "aslant"])
def test_two_fingers_come_nearer(chromium: Any, filmed: tuple[str, Recording], way: tuple[float, float]) -> None:
    """Fingers that part on the picture enlarge it by as much, about the place between them; the film stays at rest."""
    context = chromium.new_context(viewport={"width": 768, "height": 1024}, has_touch=True)
    page = context.new_page()
    open_film(page, filmed[0], filmed[1].id)
    box = page.get_by_test_id("film").bounding_box()
    middle = (0.4 * box["width"], 0.5 * box["height"])
    hand = Fingers(page)
    for apart in (30, 45, 60, 75, 90):
        sides = [(middle[0] + side * apart * way[0], middle[1] + side * apart * way[1]) for side in (-1, 1)]
        hand.at(*[(box["x"] + x, box["y"] + y) for x, y in sides])
    hand.lift()
    scale, right, down = lens(page)
    assert scale == pytest.approx(3.0, rel=0.02)
    assert (scale * middle[0] + right, scale * middle[1] + down) == pytest.approx(middle, abs=2.0)
    assert page.evaluate("[visualViewport.scale, scrollY]") == [1, 0]
    hand.at((box["x"] + 150, box["y"] + 150))
    hand.at((box["x"] + 170, box["y"] + 165))
    hand.at((box["x"] + 180, box["y"] + 175))
    hand.lift()
    page.wait_for_timeout(400)
    assert lens(page) == pytest.approx([scale, right + 30, down + 25], abs=2.0)
    assert page.get_by_test_id("video").evaluate("film => film.paused")
    context.close()


def test_a_trackpad_pinch_is_the_pictures(page: Any) -> None:
    """Two fingers on a trackpad come as a wheel with Ctrl: the picture comes nearer, the page does not."""
    box = page.get_by_test_id("film").bounding_box()
    page.mouse.move(box["x"] + 0.7 * box["width"], box["y"] + 0.4 * box["height"])
    page.keyboard.down("Control")
    for _ in range(5):
        page.mouse.wheel(0, -10)
    page.keyboard.up("Control")
    page.wait_for_function("() => new DOMMatrix(getComputedStyle(window.film.parentElement).transform).a > 1.7")
    assert page.evaluate("[visualViewport.scale, devicePixelRatio, innerWidth]") == [1, 1, SIZE["width"]]
    page.keyboard.press("0")


def test_a_double_click_goes_nearer_and_a_click_plays(page: Any) -> None:
    """Two clicks enlarge and leave the frame alone; one click plays, another one pauses."""
    film = page.get_by_test_id("film")
    before = shown(page)
    film.dblclick(position={"x": 200, "y": 100})
    assert lens(page)[0] > 2
    assert shown(page) == before
    film.dblclick(position={"x": 200, "y": 100})
    assert lens(page)[0] == 1
    film.click(position={"x": 200, "y": 100})
    page.wait_for_function("() => !window.film.paused")
    film.click(position={"x": 200, "y": 100})
    page.wait_for_function("() => window.film.paused")


@pytest.mark.parametrize(
    ("divider", "key", "part", "size"),
    [("divider-columns", "ArrowLeft", "film", "width"), ("divider-rows", "ArrowUp", "film", "height")],
    ids=["columns", "rows"],
)
def test_dividers_move_by_keys_and_stay(
    page: Any, filmed: tuple[str, Recording], divider: str, key: str, part: str, size: str
) -> None:
    """An arrow key makes the picture smaller, it is so after a reload, and a double click puts it back."""
    usual = page.get_by_test_id(part).bounding_box()[size]
    page.get_by_test_id(divider).focus()
    for _ in range(4):
        page.keyboard.press(key)
    smaller = page.get_by_test_id(part).bounding_box()[size]
    assert smaller < usual - 10
    open_film(page, filmed[0], filmed[1].id)
    assert page.get_by_test_id(part).bounding_box()[size] == pytest.approx(smaller, abs=2)
    assert page.evaluate("document.documentElement.scrollHeight") <= SIZE["height"]
    page.get_by_test_id(divider).dblclick()
    assert page.get_by_test_id(part).bounding_box()[size] == pytest.approx(usual, abs=2)


def test_dividers_are_dragged(page: Any) -> None:
    """The divider between the halves follows the pointer."""
    box = page.get_by_test_id("divider-columns").bounding_box()
    page.mouse.move(box["x"] + 6, box["y"] + 200)
    page.mouse.down()
    page.mouse.move(box["x"] - 94, box["y"] + 200, steps=5)
    page.mouse.up()
    assert page.get_by_test_id("divider-columns").bounding_box()["x"] == pytest.approx(box["x"] - 100, abs=2)
    page.get_by_test_id("divider-columns").dblclick()


def test_all_is_found_again(page: Any, context: Any, filmed: tuple[str, Recording]) -> None:
    """Place, speed, loop and how near one was are there again in a new window."""
    page.keyboard.press("0")
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("f")
    page.keyboard.press("l")
    page.keyboard.press("+")
    left = page.get_by_test_id("frame").text_content()
    near = lens(page)
    page.close()
    again = context.new_page()
    open_film(again, filmed[0], filmed[1].id)
    again.get_by_test_id("frame").get_by_text(left).wait_for(state="attached")
    assert again.get_by_test_id("speed").input_value() == "1.25"
    assert again.get_by_test_id("video").evaluate("film => film.playbackRate") == 1.25
    assert again.get_by_test_id("loop").get_attribute("aria-pressed") == "true"
    assert lens(again) == pytest.approx(near, abs=0.5)
    for key in "sl0":
        again.keyboard.press(key)
    again.close()
