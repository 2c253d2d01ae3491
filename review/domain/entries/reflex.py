"""Tendon reflexes: a grade, always with the name of its scale, since scales give the same number other meanings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from review.domain.entries.scan import Scan
from review.domain.errors import NotFound


@dataclass(frozen=True, slots=True)
class ReflexScale:
    """A scale for reflexes: what each grade from 0 upwards means, and where that is written."""

    name: str
    levels: tuple[str, ...]
    source: str

    @property
    def highest(self) -> int:
        """The highest grade."""
        return len(self.levels) - 1


SCALES: Final[Mapping[str, ReflexScale]] = MappingProxyType(
    {
        scale.name: scale
        for scale in (
            ReflexScale(
                "NINDS",
                (
                    "absent",
                    "slight, less than normal, or only with reinforcement",
                    "lower half of the normal range",
                    "upper half of the normal range",
                    "more than normal, clonus included",
                ),
                "Hallett 1993, Neurology 43:2723; wording from memory",
            ),
            ReflexScale(
                "0 to 4+",
                ("no response", "diminished", "normal", "brisk", "very brisk, clonus"),
                "common in nursing and physiotherapy texts",
            ),
            ReflexScale(
                "0 to 5+",
                (
                    "absent",
                    "trace, or only with reinforcement",
                    "normal",
                    "brisk",
                    "clonus that dies out",
                    "clonus that goes on",
                ),
                "a teaching page on the neurological examination; 1, 2 and 3 are all normal there if both sides agree",
            ),
        )
    }
)
"""The scales that are known, by name."""

SIDES: Final = {"right side": "right", "right": "right", "left side": "left", "left": "left"}
"""Words for the examined person's own sides."""

_SPOKEN: Final = {
    **dict.fromkeys(("ninds scale", "ninds"), "NINDS"),
    **dict.fromkeys(("0 to 4+", "0 to 4", "0-4+", "0-4"), "0 to 4+"),
    **dict.fromkeys(("0 to 5+", "0 to 5", "0-5+", "0-5"), "0 to 5+"),
}
_REINFORCED: Final = {
    **dict.fromkeys(("with reinforcement", "reinforced", "only with reinforcement"), True),
    **dict.fromkeys(("without reinforcement", "not reinforced"), False),
}


@dataclass(frozen=True, slots=True)
class Reflex:
    """The grade of one reflex.

    Parameters
    ----------
    side
        "right" or "left", the examined person's own.
    grade
        Whole number on the scale.
    scale
        Name of the scale, a key of `SCALES`.
    reinforced
        Whether it was tested with reinforcement; None if that was not said.
    """

    side: str
    grade: int
    scale: str
    reinforced: bool | None

    @property
    def place(self) -> str:
        """Which side."""
        return f"{self.side} side"

    @property
    def words(self) -> str:
        """The grade with its scale's name, and what the number means on that scale."""
        how = {True: "with reinforcement", False: "without reinforcement", None: ""}[self.reinforced]
        if self.grade == 0 and self.reinforced is None:
            how = "reinforcement not said"
        meaning = SCALES[self.scale].levels[self.grade]
        return "; ".join(filter(None, (f"{self.grade} on {self.scale}: {meaning}", how)))


def scale_named(name: str) -> ReflexScale:
    """Return the scale with this name.

    Raises
    ------
    NotFound
        If there is none; the message names those that are known.
    """
    if name not in SCALES:
        raise NotFound.among("reflex scale", name, SCALES)
    return SCALES[name]


def read_reflex(scan: Scan) -> Reflex:
    """Read a grade such as ``2+ on NINDS``; what it is worth after a fault does not count."""
    name = scan.word(_SPOKEN, "scale")
    reinforced = scan.word(_REINFORCED, "word on reinforcement")
    side = scan.place("side", SIDES) or ""
    found = scan.one(r"(?<![\d.])\+?(-?\d+(?:\.\d+)?)\+?(?![\d+])", "grade")
    scan.take(r"\b(?:on|scale|the)\b")
    scan.end()
    if found is None:
        scan.fault("The grade is missing; expected a whole number such as 2.")
    if name is None:
        scan.fault(_nameless(found[1] if found else None))
    grade = _grade(scan, found[1] if found else "0", scale_named(name) if name else None)
    return Reflex(side, grade, name or "", reinforced)


def _grade(scan: Scan, text: str, scale: ReflexScale | None) -> int:
    highest = scale.highest if scale else max(one.highest for one in SCALES.values())
    if "." not in text and 0 <= int(text) <= highest:
        return int(text)
    on = f"on {scale.name}" if scale else "on any scale known here"
    scan.fault(f"Grade {text} came; expected a whole number from 0 to {highest} {on}.")
    return 0


def _nameless(text: str | None) -> str:
    """Say that the scale is missing, and how the number's meaning hangs on it."""
    known = ", ".join(SCALES)
    if text is None or not text.isdecimal():
        return f"The scale's name is missing; expected one of: {known}."
    meanings = [f"{one.levels[int(text)]} on {one.name}" for one in SCALES.values() if int(text) <= one.highest]
    means = f": {text} is {'; '.join(meanings)}" if meanings else ""
    return f"The scale's name is missing{means}. Expected one of: {known}."
