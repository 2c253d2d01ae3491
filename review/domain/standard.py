"""Where to draw the line on a sheet: overall ratings of attempts, and what is expected of a borderline learner."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from types import MappingProxyType
from typing import Final

from review.domain.model import Side

OVERALL: Final[Mapping[int, str]] = MappingProxyType(
    {1: "clearly not yet", 2: "borderline", 3: "sufficient", 4: "good", 5: "very good"}
)
"""The overall impression of an attempt, given without looking at its points: lowest first."""

BORDERLINE: Final = 2
"""The rating that stands for a learner of whom one cannot say whether it is enough."""


@dataclass(frozen=True, slots=True)
class Overall:
    """An instructor's overall rating of an attempt, a key of `OVERALL`."""

    recording_id: str
    person_id: str
    rating: int
    at: datetime


@dataclass(frozen=True, slots=True)
class Expectation:
    """The chance (0 to 1) with which, as an instructor says, a borderline learner does a step fully.

    `course_id` is empty on a machine without accounts.
    """

    course_id: str
    checklist_id: str
    step_id: str
    side: Side | None
    person_id: str
    chance: float
    at: datetime
