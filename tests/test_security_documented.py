"""Every line of the security table names a test that there is."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
LINES = [line for line in (ROOT / "docs" / "security.md").read_text("utf-8").splitlines() if line.startswith("| V")]
CHAPTERS = {*range(1, 17)} - {11}
"""Those with lines of their own; two others are spoken of below the table."""


@pytest.mark.parametrize("line", LINES, ids=lambda line: line[:60])
def test_what_holds_a_line_is_there(line: str) -> None:
    """It is a file of tests, or a test in one."""
    (named,) = re.findall(r"`(tests/[\w/]+\.py(?:::\w+)?)`", line.split(" | ")[-1])
    file, _, test = named.partition("::")
    text = (ROOT / file).read_text("utf-8")
    assert f"\ndef {test or 'test_'}" in text


def test_each_chapter_is_spoken_of() -> None:
    """None of the standard's chapters was forgotten."""
    spoken_of = {int(number) for line in LINES for number in re.findall(r"\bV(\d+)", line.split(" | ")[0])}
    assert spoken_of == CHAPTERS
