"""The checklists that come with Runthrough: TOML files beside this one."""

from __future__ import annotations

from importlib.resources import files
from importlib.resources.abc import Traversable

from review.domain.errors import NotFound


def shipped_checklists() -> dict[str, Traversable]:
    """Return the shipped checklist files by name (the file's name without its ending), in alphabetical order."""
    found = {file.name.removesuffix(".toml"): file for file in files(__name__).iterdir() if file.name.endswith(".toml")}
    return dict(sorted(found.items()))


def shipped(name: str) -> Traversable:
    """Return the shipped checklist file of this name.

    Raises
    ------
    NotFound
        If none is called so; the message names those there are.
    """
    found = shipped_checklists()
    if name not in found:
        raise NotFound.among("shipped checklist", name, found)
    return found[name]
