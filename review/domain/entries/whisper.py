"""Whispered voice: how many of three whispered characters were repeated, or of six after a second set.

References
----------
Pirozzo S, Papinczak T, Glasziou P (2003), BMJ 327:967: all three right counts as heard; otherwise a second set of three
is whispered, and at least three of the six count as heard.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from review.domain.entries.scan import Scan

SET: Final = 3
"""Characters whispered at a time."""

ENOUGH: Final = 3
"""Characters of both sets together that count as heard."""

EARS: Final = {"right ear": "right", "right": "right", "left ear": "left", "left": "left"}
"""Words for the examined person's own ears."""

_SHARE: Final = r"(-?\d+)\s*(?:/|(?:out\s*)?of)\s*(-?\d+)"


@dataclass(frozen=True, slots=True)
class Whisper:
    """How many characters one ear repeated.

    Parameters
    ----------
    ear
        "right" or "left", the examined person's own.
    right, whispered
        How many were right, and of how many: 3, or 6 with a second set.
    first
        How many of the first set were right; None if only the sum of both sets was said.
    """

    ear: str
    right: int
    whispered: int
    first: int | None

    @property
    def place(self) -> str:
        """Which ear."""
        return f"{self.ear} ear"

    @property
    def words(self) -> str:
        """The counts, and what they count as by the test's own rule."""
        begun = f"{self.first} of {SET}, then " if self.whispered > SET and self.first is not None else ""
        total = f"{begun}{self.right} of {self.whispered}" + (" in all" if begun else "")
        if self.whispered == SET and self.right < SET:
            return f"{total} right: the rule asks for a second set"
        heard = "counts as heard" if self.right >= ENOUGH else "does not count as heard"
        rule = f"all {SET}" if self.whispered == SET else f"at least {ENOUGH} of {2 * SET}"
        return f"{total} right: {heard} (rule: {rule})"


def read_whisper(scan: Scan) -> Whisper:
    """Read counts such as ``3 of 3`` or ``2 of 3, then 1 of 3``; what it is worth after a fault does not count."""
    ear = scan.place("ear", EARS) or ""
    sets = [_counts(scan, found) for found in scan.take(_SHARE)]
    scan.take(r"\b(?:then|and|right|in all)\b|\+")
    if not sets:
        number = scan.take(r"-?\d+")
        came = f"{number[0].group()} of how many is not said" if number else "The count is missing"
        scan.fault(f"{came}; expected one such as 3 of 3, 5 of 6, or 2 of 3 then 1 of 3.")
        sets = [(0, SET)]
    scan.end()
    if len(sets) > 2:
        scan.fault(f"{len(sets)} sets came; expected one or two.")
    first, total = sets[0], sets[min(1, len(sets) - 1)]
    if len(sets) == 1:
        return _single(scan, ear, *first)
    if scan.faults:
        return Whisper(ear, 0, SET, None)
    return _double(scan, ear, first, total)


def _counts(scan: Scan, found: re.Match[str]) -> tuple[int, int]:
    right, whispered = int(found[1]), int(found[2])
    if whispered not in (SET, 2 * SET):
        scan.fault(f"{right} of {whispered} came; expected counts of {SET} (one set) or {2 * SET} (both).")
    elif not 0 <= right <= whispered:
        scan.fault(f"{right} of {whispered} came; expected 0 to {whispered} right.")
    return right, whispered


def _single(scan: Scan, ear: str, right: int, whispered: int) -> Whisper:
    if (right, whispered) == (2 * SET, 2 * SET):
        scan.fault(_needless(f"{right} of {whispered}"))
    return Whisper(ear, right, whispered, right if whispered == SET else None)


def _double(scan: Scan, ear: str, first: tuple[int, int], second: tuple[int, int]) -> Whisper:
    """Put two sets together; the second may be counted alone (of 3) or with the first (of 6)."""
    if first[1] != SET:
        scan.fault(f"{first[0]} of {first[1]} came first; expected the first set, of {SET}.")
    elif first[0] == SET:
        scan.fault(_needless(f"{SET} of {SET} and a second set"))
    total = second[0] + first[0] if second[1] == SET else second[0]
    if not first[0] <= total <= first[0] + SET:
        scan.fault(
            f"{first[0]} of {SET} and then {total} of {2 * SET} in all came; expected {first[0]} to "
            f"{first[0] + SET} in all."
        )
    return Whisper(ear, total, 2 * SET, first[0])


def _needless(came: str) -> str:
    return f"{came} came; a second set is whispered only if the first was not all right."
