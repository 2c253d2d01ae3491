"""Which tests open homes: those run once more on a school's server. Whoever opens one elsewhere is told so."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

import pytest

from review.store import settings

OPEN_HOMES: Final = (
    "tests/access/",
    "tests/actions/",
    "tests/commands/",
    "tests/e2e/",
    "tests/pipeline/",
    "tests/report/",
    "tests/store/",
    "tests/ui/",
)
"""Where tests may open a home; all others compute alone, and would run on a server as they do on a laptop."""

BROWSED: Final = ("tests/e2e/test_three_browsers.py",)
"""The tests of whole pages in browsers that are run on a server."""

PASS: Final = tuple(name for name in OPEN_HOMES if name not in ("tests/e2e/", "tests/store/")) + BROWSED
"""What is run on a server; the tests of the store ask for both kinds of database themselves."""


class Watch:
    """A plugin that fails a test, wherever it stands, that opens a home where none is expected."""

    def __init__(self) -> None:
        self._allowed = True
        self._read: Callable[[Path], dict[str, Any]] = settings._written
        self._patch = pytest.MonkeyPatch()
        self._patch.setattr(settings, "_written", self._seen)

    def pytest_runtest_protocol(self, item: pytest.Item) -> None:
        """Note where the test stands that begins."""
        self._allowed = item.nodeid.startswith(OPEN_HOMES)

    def pytest_runtest_setup(self, item: pytest.Item) -> None:
        """Refuse a home that was opened for another test before."""
        shared = {"furnished", "site", "dashboard"} & set(getattr(item, "fixturenames", ()))
        assert self._allowed or not shared, _told(", ".join(sorted(shared)))

    def pytest_unconfigure(self) -> None:
        """Leave the program as it was."""
        self._patch.undo()

    def _seen(self, place: Path) -> dict[str, Any]:
        assert self._allowed, _told(str(place.parent))
        return self._read(place)


def _told(home: str) -> str:
    return (
        f"A test opened a home ({home}), but tests here are not run on a school's server. "
        "Move it to a folder of OPEN_HOMES in tests/outside.py, or name its folder there."
    )
