"""The steps of a checklist with what people say at each."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

WORDING: Final = Path(__file__).with_name("wording.toml")
"""What is said at the steps of the checklists that come with the project."""


@dataclass(frozen=True)
class Otherwise:
    """A finding that is not as expected, and what it amounts to."""

    text: str
    value: str


@dataclass(frozen=True)
class Step:
    """A step of a checklist, and the words for it; the fields are those that `WORDING` describes.

    Parameters
    ----------
    id, section, title, sides
        As in the checklist.
    finding
        The checklist's own phrases.
    """

    id: str
    section: str
    title: str
    sides: tuple[str, ...]
    finding: tuple[str, ...]
    called: tuple[str, ...]
    ask: tuple[str, ...] = ()
    second: tuple[str, ...] = ()
    answer: tuple[str, ...] = ()
    said: tuple[str, ...] = ()
    value: str | None = None
    valued: tuple[str, ...] = ()
    other: tuple[Otherwise, ...] = ()
    wait_s: tuple[float, float] = (1.0, 3.0)
    shows: str | None = None


@dataclass(frozen=True)
class Sheet:
    """A checklist: its id and version, and its steps in their order."""

    id: str
    version: int
    steps: tuple[Step, ...]

    def only(self, ids: tuple[str, ...]) -> Sheet:
        """Return the sheet with these steps alone, in the sheet's order.

        Raises
        ------
        ValueError
            If it has no step of such an id; the message names those it has.
        """
        unknown = [step for step in ids if step not in {known.id for known in self.steps}]
        if unknown:
            known = ", ".join(step.id for step in self.steps)
            raise ValueError(f"{self.id} has no step {', '.join(unknown)}; choose from {known}")
        return Sheet(self.id, self.version, tuple(step for step in self.steps if step.id in ids))


def read_sheet(checklist: Path, wording: Path = WORDING) -> Sheet:
    """Return the steps of a checklist file; those without a wording are called by their title."""
    written = tomllib.loads(checklist.read_text(encoding="utf-8"))
    words = tomllib.loads(wording.read_text(encoding="utf-8"))["step"]
    steps = [
        _step(section["id"], step, words.get(step["id"], {}))
        for section in written["section"]
        for step in section["step"]
    ]
    return Sheet(written["id"], written["version"], tuple(steps))


def _step(section: str, step: Mapping[str, Any], words: Mapping[str, Any]) -> Step:
    given: dict[str, Any] = {name: tuple(value) if isinstance(value, list) else value for name, value in words.items()}
    given["other"] = tuple(Otherwise(**other) for other in words.get("other", ()))
    given.setdefault("called", (step["title"].replace(":", ",").lower(),))
    return Step(
        id=step["id"],
        section=section,
        title=step["title"],
        sides=tuple(step.get("sides", ())),
        finding=tuple(step.get("finding", ())),
        **given,
    )
