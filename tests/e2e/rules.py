"""A page held against axe-core's rules (WCAG 2.2 among them)."""

from __future__ import annotations

from typing import Any, Final

import pytest

OF_COLOUR: Final = ["color-contrast", "link-in-text-block"]
"""The rules that a page may keep in light and break in dark; all others speak of what both have in common."""

SETTLING_MS: Final = 150
NARROW: Final = (768, 1024)
WIDE: Final = (1366, 768)


def broken(page: Any) -> list[str]:
    """Return what axe-core finds wrong on a page, with the elements: by all rules in light, by those of colour in dark.

    The page is in light afterwards.
    """
    wrong, seen = held(page, {})
    assert seen > 10, f"axe-core did not look into the page at {page.url}"
    page.emulate_media(color_scheme="dark")
    page.wait_for_timeout(SETTLING_MS)
    dark, seen = held(page, {"runOnly": {"type": "rule", "values": OF_COLOUR}})
    assert seen > 0, f"axe-core saw no colours on the page at {page.url}"
    page.emulate_media(color_scheme="light")
    page.wait_for_timeout(SETTLING_MS)
    return wrong + [f"dark: {one}" for one in dark]


def broken_at(page: Any, *sizes: tuple[int, int]) -> list[str]:
    """Return the same at several widths and heights; in dark the last one only."""
    wrong: list[str] = []
    for width, height in sizes[:-1]:
        page.set_viewport_size({"width": width, "height": height})
        page.wait_for_timeout(SETTLING_MS)
        wrong += [f"{width} wide: {one}" for one in held(page, {})[0]]
    page.set_viewport_size({"width": sizes[-1][0], "height": sizes[-1][1]})
    page.wait_for_timeout(SETTLING_MS)
    return wrong + broken(page)


def held(page: Any, rules: dict[str, Any]) -> tuple[list[str], int]:
    """Return what is wrong by some rules, and how many rules there was something to hold against."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright")
    found = axe.Axe().run(page, options={"resultTypes": ["violations"], **rules}).response
    wrong = [f"{rule['id']}: {node['html'][:120]}" for rule in found["violations"] for node in rule["nodes"]]
    return wrong, sum(bool(rule["nodes"]) for kind in ("passes", "incomplete") for rule in found[kind])
