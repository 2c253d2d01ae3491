"""No state of the pages without its pictures in the documents, small enough to be kept with the project."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.e2e.states import STATES

DOCS = Path(__file__).parent.parent / "docs"
MOST_BYTES, MOST_BYTES_IN_ALL = 80_000, 1_500_000


def shown() -> list[str]:
    """Return the names of the pictures that the page shows."""
    return re.findall(r"\(screens/([\w-]+)\.webp\)", (DOCS / "screens.md").read_text("utf-8"))


@pytest.mark.parametrize("state", list(STATES))
def test_state_is_shown_light_and_dark(state: str) -> None:
    """The page says the state's sentence and shows it in both schemes."""
    assert STATES[state] in (DOCS / "screens.md").read_text("utf-8")
    assert {f"{state}-light", f"{state}-dark"} <= set(shown())


def test_pictures_are_there_and_small() -> None:
    """What the page shows is there, nothing else is, each picture has at most 80 kB and all at most 1.5 MB."""
    sizes = {path.stem: path.stat().st_size for path in (DOCS / "screens").glob("*")}
    assert sorted(sizes) == sorted(shown())
    assert max(sizes.values()) <= MOST_BYTES
    assert sum(sizes.values()) <= MOST_BYTES_IN_ALL
