"""The pages in a real browser: what a person does at the screen, and that it is kept."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from review.domain.model import Recording
from review.store.home import Home
from review.store.repository import reading
from tests.screens import all_kept

pytestmark = pytest.mark.browser

WATCH_FILM = """() => {
    const find = (root) => root.querySelector("video") ??
        [...root.querySelectorAll("*")].map((one) => one.shadowRoot && find(one.shadowRoot)).find(Boolean);
    window.film = find(document);
    window.loads = 0;
    for (const type of ["loadstart", "emptied"]) window.film.addEventListener(type, () => window.loads++);
}"""


@pytest.fixture(scope="module")
def page(chromium: Any, dashboard: str, furnished: tuple[Home, Recording]) -> Iterator[Any]:
    """Open the Review page of the tiny attempt, as the learner; anything asked of other machines fails the test."""
    page = chromium.new_page(viewport={"width": 1366, "height": 768})
    outside: list[str] = []
    page.on("request", lambda sent: None if _ours(sent.url) else outside.append(sent.url))
    open_review(page, f"{dashboard}/review?recording={furnished[1].id}&as=L-07")
    yield page
    page.close()
    assert outside == []


def _ours(url: str) -> bool:
    return url.startswith(("http://127.0.0.1:", "ws://127.0.0.1:", "blob:", "data:"))


def open_review(page: Any, address: str) -> None:
    """Open the board and wait until the film's frames are known."""
    page.goto(address)
    page.get_by_test_id("frame").get_by_text("of 52").wait_for(timeout=30_000)
    page.evaluate(WATCH_FILM)


def kept(page: Any) -> None:
    """Wait until everything that was done is acknowledged."""
    all_kept(page, 15_000)


def frame(page: Any, number: int) -> None:
    """Wait until a frame, counted from 1, is the one in hand."""
    page.get_by_test_id("frame").get_by_text(f"frame {number} of").wait_for()


def row(page: Any, key: str) -> Any:
    """Return the row of a step."""
    return page.locator(f'[data-testid="row"][data-key="{key}"]')


def test_the_board_fills_the_window(page: Any) -> None:
    """It ends at the window's lower edge, also where the page around it was laid out anew after it came."""
    page.wait_for_timeout(500)
    board = page.locator("[data-board]").bounding_box()
    assert 750 < board["y"] + board["height"] <= 768


def test_everything_fits_the_window(page: Any) -> None:
    """Film, timeline and three rows of the sheet are on the screen without scrolling the page."""
    for testid in ("video", "timeline"):
        box = page.get_by_test_id(testid).bounding_box()
        assert box["y"] + box["height"] <= 768
        assert box["height"] > 90
    tops = [one.bounding_box()["y"] for one in page.get_by_test_id("row").all()[:3]]
    assert max(tops) < 700
    assert page.evaluate("document.documentElement.scrollHeight") <= 768


def test_step_is_marked_by_keys(page: Any, furnished: tuple[Home, Recording]) -> None:
    """Frame keys and brackets mark a step at the frames' own times, and the film is not loaded anew."""
    home, recording = furnished
    row(page, "hand_hygiene|").locator(".row-title").click()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    frame(page, 4)
    page.keyboard.press("[")
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("]")
    kept(page)
    with reading(home) as repo:
        marks = [(mark.step_id, mark.interval.onset_s, mark.interval.offset_s) for mark in repo.marks(recording.id)]
    assert marks == [("hand_hygiene", pytest.approx(0.160), pytest.approx(1.160))]
    assert page.evaluate("window.loads") == 0


def test_frame_on_the_screen_is_the_one_named(page: Any) -> None:
    """The picture shown is that of the frame in hand: every frame of the film has a brightness of its own."""
    shown = """() => {
        const canvas = Object.assign(document.createElement("canvas"), { width: 8, height: 8 });
        const pen = canvas.getContext("2d");
        pen.drawImage(window.film, 0, 0, 8, 8);
        return pen.getImageData(4, 4, 1, 1).data[0];
    }"""
    number = int(page.get_by_test_id("frame").inner_text().split()[1])
    for count in range(number + 1, number + 7):
        page.keyboard.press("ArrowRight")
        frame(page, count)
        page.wait_for_function("() => !window.film.seeking")
        assert abs(page.evaluate(shown) - (20 + 4 * (count - 1))) < 2


def test_blind_until_graded(page: Any) -> None:
    """Of a step with measures the values stay covered until one's own grade and confidence are set by their keys."""
    row(page, "romberg_setup|").locator(".row-title").click()
    note = page.get_by_text("Curves and values stay covered")
    note.wait_for()
    page.keyboard.press("1")
    kept(page)
    assert note.is_visible()
    page.keyboard.press("Shift+2")
    kept(page)
    note.wait_for(state="detached")
    pressed = row(page, "romberg_setup|").locator('[data-testid="grade"][aria-pressed="true"]')
    assert pressed.get_attribute("data-level") is not None


def test_end_before_start_is_said(page: Any) -> None:
    """An end without a start changes nothing and is answered in words."""
    row(page, "romberg_setup|").locator(".row-title").click()
    page.keyboard.press("]")
    page.get_by_test_id("message").get_by_text("Set the start").wait_for()
    kept(page)


def test_typing_is_only_typing(page: Any) -> None:
    """Letters, digits and brackets typed into a comment are text: they neither grade nor mark nor rerun the page."""
    row(page, "hand_hygiene|").locator(".row-title").click()
    page.keyboard.press("c")
    page.get_by_test_id("comment-box").wait_for()
    page.keyboard.type("rc 4 [s] ?")
    page.keyboard.press("Enter")
    kept(page)
    page.get_by_test_id("comment-list").get_by_text("rc 4 [s] ?").wait_for()
    assert row(page, "hand_hygiene|").locator('[aria-pressed="true"]').count() == 0
    assert page.evaluate("window.loads") == 0


def test_all_is_there_after_a_reload(page: Any) -> None:
    """Mark, grade, comment and the step in hand are there again after the page is loaded anew."""
    page.reload()
    page.get_by_test_id("frame").get_by_text("of 52").wait_for(timeout=30_000)
    page.evaluate(WATCH_FILM)
    page.get_by_test_id("comment-list").get_by_text("rc 4 [s] ?").wait_for()
    assert "0:00.16 to 0:01.16" in page.locator(".hand-when").inner_text()
    assert row(page, "romberg_setup|").locator(".chip").count() == 1


def test_unsent_work_survives_a_reload(page: Any, furnished: tuple[Home, Recording]) -> None:
    """An operation that could not be sent before the page was loaded anew is sent afterwards, once."""
    home, recording = furnished
    key = next(one for one in page.evaluate("Object.keys(sessionStorage)") if one.startswith("runthrough.queue."))
    operation = {"op": "comment", "comment_id": "5b3f6f0a-8f5e-4a43-9a0b-0c9c3c1d2e4f", "text": "late", "onset_s": 0.2}
    page.evaluate(
        """([key, operation]) => {
            const kept = JSON.parse(sessionStorage.getItem(key));
            kept.seq += 1;
            kept.ops.push({ ...operation, seq: kept.seq });
            sessionStorage.setItem(key, JSON.stringify(kept));
        }""",
        [key, operation],
    )
    page.reload()
    page.get_by_role("tab", name="Comments (2)").wait_for(timeout=30_000)
    kept(page)
    with reading(home) as repo:
        texts = sorted(comment.text for comment in repo.comments(recording.id))
    assert texts == ["late", "rc 4 [s] ?"]


def test_somebody_else_starts_blind(page: Any) -> None:
    """The instructor, chosen at the top, sees the learner's grade only after grading oneself; it is kept as theirs."""
    page.get_by_test_id("person").select_option("I-02")
    row(page, "romberg_setup|").locator(".row-title").click()
    cover = page.get_by_text("Grades of others are covered")
    cover.wait_for()
    page.keyboard.press("2")
    page.keyboard.press("Shift+1")
    kept(page)
    cover.wait_for(state="detached")
    assert "L-07" in row(page, "romberg_setup|").locator(".others").inner_text()
    assert "as=I-02" in page.url


def test_list_leads_to_the_recording(page: Any, dashboard: str) -> None:
    """The list shows the attempt with its stills; its name leads to the Review page."""
    page.goto(f"{dashboard}/?as=L-07")
    attempt = page.get_by_test_id("recording")
    attempt.wait_for(timeout=30_000)
    assert attempt.locator("img").count() == 5
    page.get_by_test_id("open").click()
    page.get_by_test_id("frame").get_by_text("of 52").wait_for(timeout=30_000)


def test_film_that_is_none_is_refused_in_words(page: Any, dashboard: str) -> None:
    """A file that is no film, chosen on the page, is refused in a sentence with its name."""
    page.goto(f"{dashboard}/?as=L-07")
    page.get_by_test_id("film-file").wait_for(state="attached", timeout=30_000)
    page.get_by_test_id("film-file").set_input_files(
        {"name": "notes.mp4", "mimeType": "video/mp4", "buffer": b"this is no film"}
    )
    page.get_by_test_id("add-recording").click()
    page.get_by_test_id("upload-status").get_by_text("notes.mp4: ").wait_for()
