"""No measure without a section in the manual and a test of its own."""

import re
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules

import pytest

import review.measures
from review.measures import registry

ROOT = Path(__file__).parent.parent
MODULES = [
    info.name
    for info in iter_modules(review.measures.__path__)
    if hasattr(import_module(f"review.measures.{info.name}"), "MEASURES")
]


def headings() -> str:
    """Return the headings of the manual."""
    return "\n".join(re.findall(r"^#+ .*$", (ROOT / "docs" / "measures.md").read_text("utf-8"), flags=re.MULTILINE))


@pytest.mark.parametrize("name", list(registry()))
def test_measure_has_its_section(name: str) -> None:
    """Every measure's name stands in a heading of docs/measures.md."""
    assert f"`{name}`" in headings()


@pytest.mark.parametrize("module", MODULES)
def test_module_has_its_test(module: str) -> None:
    """Every module that declares measures has a test file of its name."""
    assert (ROOT / "tests" / "measures" / f"test_{module}.py").is_file()


def test_manual_names_no_unknown_measure() -> None:
    """A heading that names a measure names one that exists."""
    named = set(re.findall(r"`([a-z_]+)`", headings()))
    assert named <= set(registry())
