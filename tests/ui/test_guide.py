"""The filming guide in the browser, and its drawings."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from typing import Any

import pytest

from ui import assets

DRAWINGS = sorted(assets.FOLDER.glob("filming_*.svg"))


@pytest.mark.parametrize("path", DRAWINGS, ids=lambda path: path.stem)
def test_drawings_take_the_colour_of_the_text_and_say_what_they_show(path: Any) -> None:
    """A drawing has no colour of its own, so that it is seen in any theme, and a sentence for those who cannot."""
    root = ET.fromstring(path.read_text("utf-8"))
    colours = {part.get(name) for part in root.iter() for name in ("fill", "stroke")}
    assert colours <= {None, "none", "currentColor"}
    assert root.get("role") == "img"
    assert re.fullmatch(r"[A-Z].{40,}\.", root.get("aria-label") or "")


@pytest.mark.browser
@pytest.mark.parametrize("theme", ["light", "dark"])
def test_the_guide_shows_a_drawing_for_each_way_of_filming(chromium: Any, dashboard: str, theme: str) -> None:
    """Six cards for the whole screening, whose drawings stand out from the page; three for balance alone."""
    page = chromium.new_page(viewport={"width": 1366, "height": 768}, color_scheme=theme)
    page.goto(f"{dashboard}/filming?as=L-07")
    cards = page.get_by_test_id("shot")
    cards.first.wait_for(timeout=30_000)
    assert cards.count() == 6
    ink, paper = cards.first.locator("svg").evaluate(
        "(svg) => [getComputedStyle(svg).color, getComputedStyle(document.querySelector('.stApp')).backgroundColor]"
    )
    assert abs(_brightness(ink) - _brightness(paper)) > 120
    widths = [cards.nth(place).locator("svg").bounding_box()["width"] for place in range(6)]
    assert min(widths) > 300
    page.get_by_test_id("guide-sheet").select_option("balance_only")
    cards.nth(3).wait_for(state="detached", timeout=15_000)
    assert [cards.nth(place).get_attribute("data-key") for place in range(3)] == ["always", "upper_body", "whole_body"]
    page.close()


def _brightness(colour: str) -> float:
    """Return the mean of red, green and blue of a colour as the browser tells it."""
    return sum(float(part) for part in re.findall(r"[\d.]+", colour)[:3]) / 3
