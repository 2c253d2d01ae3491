"""Where in a draft a fault lies, in words for its author."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from typing import Any, Final

from review.domain.errors import ChecklistRefused, Fault

_PARTS: Final = {
    "section": "section",
    "step": "step",
    "criteria": "criterion",
    "targets": "target",
    "levels": "level",
}


@contextmanager
def placed(values: Mapping[str, Any], where: Callable[[Fault], str] | None = None) -> Iterator[None]:
    """Give every fault of a draft that is refused inside the words for its place.

    Parameters
    ----------
    values
        The draft in the shape of a checklist file.
    where
        Says where a fault lies; without it, `place_of` does.
    """
    try:
        yield
    except ChecklistRefused as refused:
        say = where or (lambda fault: place_of(values, fault.way))
        faults = [replace(fault, where=say(fault)) for fault in refused.faults]
        raise ChecklistRefused(refused.source, faults) from refused


def place_of(values: Mapping[str, Any], way: Sequence[str | int]) -> str:
    """Say where the way to a value leads: the section and the step by their titles, then the part by its number.

    Examples
    --------
    >>> sheet = {"section": [{"title": "Standing", "step": [{"title": ""}, {"title": "Eyes closed"}]}]}
    >>> place_of(sheet, ("section", 0, "step", 1, "criteria", 2, "text"))
    'Standing, Eyes closed, criterion 3'
    >>> place_of(sheet, ("section", 0, "step", 0, "title"))
    'Standing, step 1'
    >>> place_of(sheet, ("scale", "levels", 1))
    'scale, level 2'
    >>> place_of(sheet, ())
    'the sheet'
    """
    words: list[str] = []
    here: Any = values
    for key, position in zip(way, [*way[1:], ""], strict=False):
        here = _inside(here, key)
        if isinstance(position, int) and key in _PARTS:
            words.append(_name(_inside(here, position), _PARTS[str(key)], position))
        elif key in ("scale", "pass"):
            words.append("pass rule" if key == "pass" else "scale")
    return ", ".join(words) or "the sheet"


def _inside(values: Any, key: str | int) -> Any:
    if isinstance(values, Mapping):
        return values.get(str(key))
    if isinstance(values, Sequence) and isinstance(key, int) and key < len(values):
        return values[key]
    return None


def _name(part: Any, kind: str, position: int) -> str:
    title = part.get("title") if isinstance(part, Mapping) and kind in ("section", "step") else None
    return str(title) if title else f"{kind} {position + 1}"
