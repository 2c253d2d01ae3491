"""The timeline in a real browser: drawing, trimming and moving marks, undo through a reload, zoom, roving tab stop."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import accumulate, cycle, islice
from typing import Any

import pytest

from review.actions import comments, marks, people, recordings
from review.domain.model import Recording, Role
from review.store.home import Home
from review.store.repository import reading, repository
from tests.e2e.coded import open_film, shown, write_coded
from tests.e2e.touch import Fingers
from tests.homes import learners_home
from tests.screens import all_kept, serving

pytestmark = pytest.mark.browser

STAMPS_MS = [0, *islice(accumulate(cycle([33, 50, 41, 90, 25])), 250)]
"""Presentation times of the film, uneven throughout, for about twelve seconds."""

TIMES = [stamp / 1000 for stamp in STAMPS_MS]
DRAWN, OTHER = "romberg_setup", "hand_hygiene"
PEERS_S = (2.0, 5.0)
SIZE = {"width": 1366, "height": 768}


READ_STRETCH = """() => {
    const find = (root) => root.querySelector("[data-testid=overview]") ??
        [...root.querySelectorAll("*")].map((one) => one.shadowRoot && find(one.shadowRoot)).find(Boolean);
    window.stretch = () => {
        const said = find(document).getAttribute("aria-valuetext").match(/(\\d+):([\\d.]+) to (\\d+):([\\d.]+)/);
        return said ? [60 * said[1] + 1 * said[2], 60 * said[3] + 1 * said[4]] : [0, 1e9];
    };
}"""
"""Gives the page a function that reads which stretch of the film the timeline says that it shows; 1e9 for the whole."""

FOCUSED = """() => {
    let one = document.activeElement;
    while (one.shadowRoot?.activeElement) one = one.shadowRoot.activeElement;
    return one.ariaLabel ?? "";
}"""


@pytest.fixture(scope="module")
def filmed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Home, Recording]]:
    """Serve a home with one film; a peer and an instructor have marked a step and said something of it."""
    folder = tmp_path_factory.mktemp("timeline")
    home, learner = learners_home(folder / "home")
    recording = recordings.add(home, learner, write_coded(folder / "film.mp4", STAMPS_MS), name="Coded")
    with repository(home) as repo:
        peer = people.ensure(repo, "L-12", Role.PEER)
        instructor = people.ensure(repo, "I-02", Role.INSTRUCTOR)
        marks.place(repo, peer, recording, DRAWN, None, *PEERS_S)
        marks.place(repo, instructor, recording, DRAWN, None, 2.5, 5.5)
        comments.write(repo, peer, recording, 8.0, 9.0, "Here.")
    with serving(home) as address:
        yield address, home, recording


@pytest.fixture(scope="module")
def page(chromium: Any, filmed: tuple[str, Home, Recording]) -> Iterator[Any]:
    """Open the film with the step in hand that is to be marked."""
    context = chromium.new_context(viewport=SIZE)
    page = context.new_page()
    open_film(page, filmed[0], filmed[2].id)
    take(page, DRAWN)
    yield page
    context.close()


def take(page: Any, step: str) -> None:
    """Take a step in hand."""
    row = page.locator(f'[data-testid="row"][data-key="{step}|"]')
    row.locator(".row-title").click()
    page.locator(f'[data-testid="row"][data-key="{step}|"].in-hand').wait_for()


def kept(page: Any) -> None:
    """Wait until everything that was done is acknowledged."""
    all_kept(page, 30_000)


def mine(filmed: tuple[str, Home, Recording], step: str = DRAWN) -> list[tuple[float, float]]:
    """Return the learner's marks of a step, as they are stored."""
    _, home, recording = filmed
    with reading(home) as repo:
        codes = {person.id: person.code for person in repo.people()}
        found = [one for one in repo.marks(recording.id) if one.step_id == step and codes[one.person_id] == "L-07"]
    return [(round(mark.interval.onset_s, 6), round(mark.interval.offset_s, 6)) for mark in found]


def track(page: Any) -> dict[str, float]:
    """Return where the open lane lies on the screen."""
    box: dict[str, float] = page.locator(".lane.open .lane-track").bounding_box()
    return box


def across(page: Any, time_s: float) -> float:
    """Return where a time lies on the screen while the whole film is shown, in pixels from the left."""
    box = track(page)
    return box["x"] + box["width"] * time_s / TIMES[-1]


def settled(page: Any) -> None:
    """Wait until the band stays where it is: what came last may still move it."""
    before = None
    for _ in range(50):
        box = track(page)
        if box == before:
            return
        before = box
        page.wait_for_timeout(150)


def drag(page: Any, from_s: float, to_s: float, leave: bool = False) -> None:
    """Drag in one's own band from one time to another, in steps; `leave` ends with Escape in place of letting go."""
    settled(page)
    y = track(page)["y"] + 14
    page.mouse.move(across(page, from_s), y)
    page.mouse.down()
    page.mouse.move(across(page, (from_s + to_s) / 2), y, steps=4)
    page.mouse.move(across(page, to_s), y, steps=4)
    if leave:
        page.keyboard.press("Escape")
    page.mouse.up()


def second_a_pixel(page: Any) -> float:
    """How many seconds a pixel of the whole film stands for."""
    return TIMES[-1] / track(page)["width"]


def near(page: Any, found: tuple[float, float], onset_s: float, offset_s: float) -> None:
    """See that both edges are frames of the film, and as near to where they were dragged as pixels and frames allow."""
    slack = 3 * second_a_pixel(page) + 0.09
    assert set(found) <= set(TIMES)
    assert found == pytest.approx((onset_s, offset_s), abs=slack)


def test_mark_is_drawn_on_an_empty_lane(page: Any, filmed: tuple[str, Home, Recording]) -> None:
    """Dragging over the empty lane of the step in hand makes its mark, from frame to frame; one operation, one undo."""
    drag(page, 3.0, 6.0)
    kept(page)
    [found] = mine(filmed)
    near(page, found, 3.0, 6.0)
    assert page.locator("button.mark.mine.in-hand").get_attribute("aria-label").endswith("your mark")


def test_film_follows_the_dragged_edge(page: Any, filmed: tuple[str, Home, Recording]) -> None:
    """While an edge is dragged its frame is on the screen and its time beside it; letting go keeps it."""
    onset_s, offset_s = mine(filmed)[0]
    y = track(page)["y"] + 14
    page.mouse.move(across(page, offset_s) - 1, y)
    page.mouse.down()
    page.mouse.move(across(page, 7.5), y, steps=5)
    label = page.get_by_test_id("drag-label")
    label.wait_for()
    said = label.inner_text()
    page.wait_for_function("() => !window.film.seeking")
    seen = TIMES[shown(page)]
    page.mouse.up()
    label.wait_for(state="hidden")
    kept(page)
    [found] = mine(filmed)
    near(page, found, onset_s, 7.5)
    assert found[0] == onset_s
    assert found[1] == seen
    assert said == f"0:{found[1]:05.2f}, {found[1] - found[0]:.2f} s long"


def test_start_is_trimmed(page: Any, filmed: tuple[str, Home, Recording]) -> None:
    """Dragging the start leaves the end, and never passes it."""
    onset_s, offset_s = mine(filmed)[0]
    drag(page, onset_s, 4.2)
    kept(page)
    near(page, mine(filmed)[0], 4.2, offset_s)
    assert mine(filmed)[0][1] == offset_s
    drag(page, mine(filmed)[0][0], 11.0)
    kept(page)
    assert mine(filmed)[0] == (TIMES[TIMES.index(offset_s) - 1], offset_s)
    page.keyboard.press("Control+z")
    kept(page)


def test_middle_moves_the_mark(page: Any, filmed: tuple[str, Home, Recording]) -> None:
    """Dragging the middle moves both edges alike, to frames."""
    onset_s, offset_s = mine(filmed)[0]
    middle = (onset_s + offset_s) / 2
    drag(page, middle, middle - 2.0)
    kept(page)
    near(page, mine(filmed)[0], onset_s - 2.0, offset_s - 2.0)


def test_escape_changes_nothing(page: Any, filmed: tuple[str, Home, Recording]) -> None:
    """Escape during a drag leaves the mark and brings the film back to where it was."""
    before, frame = mine(filmed), page.get_by_test_id("frame").inner_text()
    drag(page, before[0][1], 10.0, leave=True)
    page.get_by_test_id("frame").get_by_text(frame, exact=True).wait_for()
    kept(page)
    assert mine(filmed) == before


def test_second_drag_does_not_replace_the_mark(page: Any, filmed: tuple[str, Home, Recording]) -> None:
    """A step that is marked is not marked again by a stray drag; it is said what to do instead."""
    before = mine(filmed)
    drag(page, 9.0, 11.0)
    page.get_by_test_id("message").get_by_text("has its mark already").wait_for()
    kept(page)
    assert mine(filmed) == before


def test_press_goes_there(page: Any) -> None:
    """A press on a mark goes to its start; one beside all marks goes to that moment."""
    page.locator(".lane.open .mark.role-peer").click()
    number = TIMES.index(max(time for time in TIMES if time <= PEERS_S[0])) + 1
    page.get_by_test_id("frame").get_by_text(f"frame {number} of").wait_for()
    page.mouse.click(across(page, 11.0), track(page)["y"] + 14)
    page.wait_for_function("() => !window.film.seeking && window.film.currentTime > 10.8")


def test_keys_move_the_nearer_edge(page: Any, filmed: tuple[str, Home, Recording]) -> None:
    """Full stop moves the edge nearer to the playhead by a frame; a run of presses is undone in one go."""
    before = mine(filmed)[0]
    page.locator("button.mark.mine.in-hand").click()
    for _ in range(3):
        page.keyboard.press(".")
    kept(page)
    start = TIMES.index(before[0])
    assert mine(filmed)[0] == (TIMES[start + 3], before[1])
    page.get_by_test_id("frame").get_by_text(f"frame {start + 4} of").wait_for()
    page.keyboard.press("u")
    kept(page)
    assert mine(filmed)[0] == before


def test_undo_and_redo_survive_a_reload(page: Any, filmed: tuple[str, Home, Recording]) -> None:
    """After a reload one's changes are undone step by step, back to nothing, and done again."""
    whole = mine(filmed)
    page.keyboard.press("2")
    kept(page)
    open_film(page, filmed[0], filmed[2].id)
    page.keyboard.press("u")
    page.get_by_test_id("message").get_by_text("Undone: your grade").wait_for()
    for _ in range(4):
        page.keyboard.press("Control+z")
    kept(page)
    assert mine(filmed) == []
    assert page.get_by_test_id("undo").is_disabled()
    for _ in range(4):
        page.keyboard.press("Control+Shift+z")
    kept(page)
    assert mine(filmed) == whole
    page.get_by_test_id("redo").click()
    kept(page)
    assert page.locator('[data-testid="grade"][aria-pressed="true"]').count() == 1
    assert page.get_by_test_id("redo").is_disabled()


def test_change_from_another_window_is_not_undone_over(page: Any, filmed: tuple[str, Home, Recording]) -> None:
    """A mark that was changed elsewhere since stays as it is, and a sentence says so."""
    _, home, recording = filmed
    take(page, OTHER)
    page.keyboard.press("[")
    kept(page)
    with repository(home) as repo:
        learner = next(person for person in repo.people() if person.code == "L-07")
        [mark] = [one for one in repo.marks(recording.id) if one.step_id == OTHER]
        marks.place(repo, learner, recording, OTHER, None, 1.0, 2.0, mark_id=mark.id)
    page.keyboard.press("u")
    page.get_by_test_id("message").get_by_text("another window").wait_for()
    kept(page)
    assert mine(filmed, OTHER) == [(1.0, 2.0)]


def test_zoom_keeps_what_is_under_the_pointer(page: Any) -> None:
    """Ctrl and the wheel look closer where the pointer is; the wheel alone leaves the timeline as it is."""
    take(page, DRAWN)
    overview = page.get_by_test_id("overview")
    assert overview.get_attribute("aria-valuetext") == "the whole film"
    page.mouse.move(across(page, 6.0), track(page)["y"] + 14)
    page.mouse.wheel(0, -200)
    page.wait_for_timeout(100)
    assert overview.get_attribute("aria-valuetext") == "the whole film"
    page.keyboard.down("Control")
    page.mouse.wheel(0, -200)
    page.keyboard.up("Control")
    page.evaluate(READ_STRETCH)
    page.wait_for_function("() => window.stretch()[1] - window.stretch()[0] < 8")
    onset, offset = page.evaluate("window.stretch()")
    assert (6.0 - onset) / (offset - onset) == pytest.approx(6.0 / TIMES[-1], abs=0.02)


def test_overview_moves_the_stretch(page: Any) -> None:
    """The window is dragged with the pointer and moved with arrow keys; Z shows the whole film again."""
    box = page.locator(".overview .window").bounding_box()
    before = page.evaluate("window.stretch()")
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + 8)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] / 2 - 400, box["y"] + 8, steps=5)
    page.mouse.up()
    page.wait_for_function("() => window.stretch()[0] === 0")
    page.get_by_test_id("overview").focus()
    page.keyboard.press("ArrowRight")
    page.wait_for_function("() => window.stretch()[0] > 0")
    onset, offset = page.evaluate("window.stretch()")
    assert offset - onset == pytest.approx(before[1] - before[0], abs=0.02)
    page.keyboard.press("z")
    page.wait_for_function("() => window.stretch()[1] === 1e9")


def test_one_tab_stop_for_all_marks(page: Any) -> None:
    """The timeline's marks are one tab stop; arrows go to the next mark, raters included, then to the comments."""
    take(page, DRAWN)
    page.keyboard.press("t")
    assert "your mark" in page.evaluate(FOCUSED)
    assert page.locator('.timeline-body [tabindex="0"]').count() == 1
    page.keyboard.press("ArrowRight")
    assert "mark of" in page.evaluate(FOCUSED)
    assert page.locator('.timeline-body [tabindex="0"]').count() == 1
    page.keyboard.press("Home")
    page.keyboard.press("ArrowDown")
    assert page.evaluate(FOCUSED).startswith("Comment of L-12, peer at 0:08.00 to 0:09.00")
    page.keyboard.press("Enter")
    page.wait_for_function("() => !window.film.seeking && Math.abs(window.film.currentTime - 8) < 0.1")
    page.keyboard.press("+")
    page.wait_for_function("() => window.stretch()[1] - window.stretch()[0] < 10")
    page.keyboard.press("0")
    page.wait_for_function("() => window.stretch()[1] === 1e9")
    page.keyboard.press("Escape")
    page.keyboard.press("ArrowRight")
    page.wait_for_function("() => !window.film.seeking && window.film.currentTime > 8.03")


def test_touch_draws_and_pinches(chromium: Any, filmed: tuple[str, Home, Recording]) -> None:
    """A finger draws a mark as the mouse does; two that part, not quite level, look closer by as much, between them."""
    context = chromium.new_context(viewport={"width": 1024, "height": 768}, has_touch=True)
    page = context.new_page()
    open_film(page, filmed[0], filmed[2].id)
    take(page, "romberg_eyes_open")
    hand = Fingers(page)
    y = track(page)["y"] + 14
    for time_s in (8.5, 9.0, 10.0, 11.0):
        hand.at((across(page, time_s), y))
    hand.lift()
    page.locator("button.mark.mine.in-hand").wait_for()
    kept(page)
    [found] = mine(filmed, "romberg_eyes_open")
    near(page, found, 8.5, 11.0)
    page.evaluate(READ_STRETCH)
    apart_px = across(page, 7.0) - across(page, 5.0)
    middle = across(page, 6.0)
    for share in (1.0, 1.3, 1.6, 2.0):
        half = share * apart_px / 2
        hand.at((middle - half, y), (middle + half, y + 60 * (share - 1)))
    hand.lift()
    page.wait_for_function("() => window.stretch()[1] - window.stretch()[0] < 8")
    onset, offset = page.evaluate("window.stretch()")
    assert offset - onset == pytest.approx(TIMES[-1] / 2, rel=0.03)
    assert (6.0 - onset) / (offset - onset) == pytest.approx(6.0 / TIMES[-1], abs=0.02)
    assert page.evaluate("[visualViewport.scale, scrollY]") == [1, 0]
    context.close()
    assert mine(filmed, "romberg_eyes_open") == [found]
