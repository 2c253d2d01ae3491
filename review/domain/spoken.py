"""A finding that was heard in a film: of which step, when, in which words, how surely."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from review.domain.model import Interval, Side

Heard = Literal["said", "other", "unclear"]
"""The finding; the finding with another value (another grade or side, or its opposite); or which, cannot be told."""

SURE: Final = 0.8
"""Confidence from which a finding counts as surely heard."""

LEAST: Final = 0.6
"""Confidence below which nothing counts as heard."""


@dataclass(frozen=True, slots=True)
class Hit:
    """A place where a step's finding was heard.

    Attributes
    ----------
    step_id
        Whose finding.
    heard
        Whether it is the finding, another value, or unclear.
    interval
        When, on the clock of the film.
    confidence
        How alike what was heard and the phrase sound, 0 to 1.
    words
        What was heard, as it was written down.
    side
        The side that was said along with it.
    value
        What stood in the phrase's slot, such as "2"; empty without one.
    """

    step_id: str
    heard: Heard
    interval: Interval
    confidence: float
    words: str
    side: Side | None = None
    value: str = ""

    @property
    def sure(self) -> bool:
        """Whether it was surely heard."""
        return self.heard != "unclear" and self.confidence >= SURE
