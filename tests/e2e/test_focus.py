"""Focus and targets of the Review page: Tab walks it in reading order, the focus is seen, targets are large."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from typing import Any

import pytest

from review.actions import comments, marks
from review.store.repository import repository
from tests.e2e.coded import open_film
from tests.e2e.sheets import furnish, look
from tests.e2e.states import take
from tests.screens import serving

pytestmark = pytest.mark.browser

PARTS = {
    "heading": ".heading",
    "step in hand": ".hand",
    "film": ".transport",
    "picture": ".look",
    "divider": ".divider",
    "timeline": ".timeline",
    "sheet": ".sheet",
}
"""Parts of the page, in the order in which they are read and in which Tab is to come to them."""

LOOK = """() => {
    const parts = PARTS;
    let one = document.activeElement;
    while (one?.shadowRoot?.activeElement) one = one.shadowRoot.activeElement;
    const board = window.film.getRootNode().querySelector("[data-board]");
    if (!one || one === board || !board.contains(one)) return null;
    const style = getComputedStyle(one);
    const box = one.getBoundingClientRect();
    const x = Math.min(innerWidth - 2, Math.max(1, box.left + Math.min(box.width, 40) / 2));
    const y = box.top + box.height / 2;
    const above = board.getRootNode().elementFromPoint(x, y);
    return {
        name: one.getAttribute("aria-label") ?? one.innerText ?? "", tag: one.tagName,
        part: Object.keys(parts).find((name) => one.closest(parts[name])) ?? "",
        outline: style.outlineStyle === "none" ? 0 : parseFloat(style.outlineWidth),
        seen: box.width > 0 && y > 0 && y < innerHeight && (one.contains(above) || Boolean(above?.contains(one))),
        place: [Math.round(box.left), Math.round(box.top)],
    };
}""".replace("PARTS", repr(PARTS))
"""Tells of the element with the focus: its part, its outline in px, whether it is seen; null outside of the board."""

SMALL = """() => {
    const LEAST = 24;
    const board = window.film.getRootNode().querySelector("[data-board]");
    const wanted = "button, a, input, select, textarea, summary, [role=slider], [role=separator]";
    const boxOf = (one) => {
        const { left, top, width, height } = one.getBoundingClientRect();
        return { one, left, top, width, height, x: left + width / 2, y: top + height / 2 };
    };
    const all = [...board.querySelectorAll(wanted)].filter((one) => one.checkVisibility() && !one.disabled)
        .map(boxOf).filter(({ width, height }) => width && height);
    const small = all.filter((box) => Math.min(box.width, box.height) < LEAST - 0.01);
    const beyond = (at, from, length) => Math.max(from - at, 0, at - from - length);
    const reaches = (box, other) =>
        Math.hypot(beyond(box.x, other.left, other.width), beyond(box.y, other.top, other.height)) < LEAST / 2;
    const meets = (box, other) => small.includes(other) && Math.hypot(box.x - other.x, box.y - other.y) < LEAST;
    const near = (box) => all.some((other) => other !== box && (reaches(box, other) || meets(box, other)));
    const crowded = small.filter(near);
    const inSentence = ({ one }) =>
        getComputedStyle(one).display === "inline" && one.parentElement.textContent.length > one.textContent.length;
    const let_off = (box) => box.one.matches(".mark, .pin, .unusable") || inSentence(box);
    const told = ({ one, width, height }) =>
        [one.className || one.tagName, one.innerText || one.ariaLabel, width.toFixed(1), height.toFixed(1)].join(" ");
    return [all.length, crowded.filter((box) => !let_off(box)).map(told)];
}"""
"""Counts targets, and names those under 24 by 24 CSS px that are not spaced as WCAG 2.2, 2.5.8 asks for.

Spaced: a circle 24 px wide about the middle meets no other target, nor the circle of another small one. Let off as
the criterion does: words in a sentence, and what must be where it is (marks and pins, whose place is their time)."""


@pytest.fixture(scope="module")
def page(chromium: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """Open a film of which three people have marked and said something, with a step in hand."""
    home, film, cast = furnish(tmp_path_factory.mktemp("focus"))
    look(home, film)
    with repository(home) as repo:
        for at, person in enumerate(cast.values()):
            marks.place(repo, person, film, "step_2", None, 2.0 + at, 6.0)
            comments.write(repo, person, film, 3.0 + at, None, "Here.", "step_2")
    with serving(home) as address:
        page = chromium.new_page(viewport={"width": 1366, "height": 768})
        open_film(page, address, film.id)
        take(page, "step_2|")
        yield page
        page.close()


def walked(page: Any, key: str) -> list[dict[str, Any]]:
    """Press Tab until the focus leaves the board; return all stops."""
    stops = []
    page.evaluate("() => window.film.getRootNode().querySelector('[data-board]').focus()")
    for _ in range(200):
        page.keyboard.press(key)
        stop = page.evaluate(LOOK)
        if stop is None:
            return stops
        stops.append(stop)
    raise AssertionError(f"Tab does not leave the board: {stops[-5:]}")


def test_tab_walks_the_page_in_reading_order(page: Any) -> None:
    """From heading to sheet, part by part; each stop is named, in sight, and has an outline of 2 px."""
    stops = walked(page, "Tab")
    order = [part for part, _ in groupby(stop["part"] for stop in stops)]
    assert [part for part in order if part != "divider"] == [part for part in PARTS if part != "divider"]
    assert [stop["name"] for stop in stops if not stop["name"].strip()] == []
    assert [stop for stop in stops if stop["outline"] < 2] == []
    assert [stop for stop in stops if not stop["seen"]] == []
    assert len(stops) > 60


def test_marks_and_comments_are_one_stop(page: Any) -> None:
    """The timeline has its four buttons, the overview, the ruler, and one stop for all that lies in it."""
    stops = [stop for stop in walked(page, "Tab") if stop["part"] == "timeline"]
    assert sum(stop["tag"] == "BUTTON" for stop in stops) == sum("mark" in stop["name"] for stop in stops) + 2
    assert sum("mark" in stop["name"] for stop in stops) == 1


@pytest.mark.parametrize("size", [(1366, 768), (1024, 768), (768, 1024)], ids=["laptop", "tablet", "upright"])
def test_targets_are_large_enough(page: Any, size: tuple[int, int]) -> None:
    """Every target is 24 by 24 CSS px, or as far from others as if it were; also in comments and with a film beside."""
    page.set_viewport_size({"width": size[0], "height": size[1]})
    crowded = {}
    for state, press in {"step": "Escape", "comment": "c", "beside": "x"}.items():
        page.keyboard.press(press)
        page.wait_for_timeout(300)
        count, crowded[state] = page.evaluate(SMALL)
        assert count > 60
        page.keyboard.press("Escape" if press == "c" else "Shift")
    page.keyboard.press("x")
    page.get_by_role("tab", name="Comments").click()
    crowded["comments"] = page.evaluate(SMALL)[1]
    page.get_by_role("tab", name="Steps").click()
    assert {state: found for state, found in crowded.items() if found} == {}
