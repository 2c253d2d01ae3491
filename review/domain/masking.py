"""Copies of films with masked heads: whose are masked, what is not vouched for, and what is known of a copy."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Final


class Heads(StrEnum):
    """Whose heads are masked in a copy."""

    OTHERS = "others"
    ALL = "all"


class Doubt(StrEnum):
    """Why seconds of a copy should be looked at before it is shared."""

    GUESSED = "guessed"
    LOST = "lost"
    NOBODY = "nobody"
    CROWDED = "crowded"
    UNSURE = "unsure"


DOUBTS: Final = {
    Doubt.GUESSED: "a head was not seen there; the mask follows where it should be",
    Doubt.LOST: "somebody who was seen just before was not found again in the middle of the picture",
    Doubt.NOBODY: "no head was found, so nothing is masked",
    Doubt.CROWDED: "more people are about than are told apart",
    Doubt.UNSURE: "the examined person was not told apart surely, so everybody is masked",
}
"""What each doubt means, in words that follow the seconds."""


@dataclass(frozen=True, slots=True)
class Doubtful:
    """Seconds of a copy that should be looked at, and why."""

    start_s: float
    stop_s: float
    why: Doubt


@dataclass(frozen=True, slots=True)
class MaskedCopy:
    """What is known of a copy with masked heads.

    Attributes
    ----------
    heads
        Whose are masked.
    sound
        Whether it has the film's sound.
    made_at, made_by
        When, and by whom (id of a person).
    doubtful
        Seconds to look at before it is shared, by time.
    size_bytes
        Size of its file.
    """

    heads: Heads
    sound: bool
    made_at: datetime
    made_by: str
    doubtful: tuple[Doubtful, ...]
    size_bytes: int
