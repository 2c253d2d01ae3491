"""Fingers on a touch screen, as the browser's own input: what the page is not given, the browser does itself."""

from __future__ import annotations

from typing import Any


class Fingers:
    """Fingers of one hand on a page."""

    def __init__(self, page: Any) -> None:
        self._send = page.context.new_cdp_session(page).send
        self._down = 0

    def at(self, *places: tuple[float, float]) -> None:
        """Put fingers to places of the window, in CSS px, one after the other; or move those that are down there."""
        points = [{"x": x, "y": y, "id": number} for number, (x, y) in enumerate(places)]
        for count in range(self._down + 1, len(points) + 1):
            self._touch("touchStart", points[:count])
        if self._down:
            self._touch("touchMove", points)
        self._down = len(points)

    def lift(self) -> None:
        """Take all fingers away."""
        self._touch("touchEnd", [])
        self._down = 0

    def _touch(self, kind: str, points: list[dict[str, float]]) -> None:
        self._send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
