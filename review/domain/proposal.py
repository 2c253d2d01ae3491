"""A mark that the machine suggests: where a step seems to lie, how surely, and why; and what a person refused of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from review.domain.model import Interval, Side

_SAME_SHARE: Final = 0.5
"""Two stretches are the same place if they share more than this of the shorter one."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """Where a step seems to lie in a film; it becomes a mark only when a person takes it.

    Attributes
    ----------
    step_id
        Of which step.
    side
        The examined person's own side; None for a step without sides.
    interval
        When, on the clock of the film.
    confidence
        Share of such proposals that are right, 0 to 1.
    reasons
        What speaks for it, strongest first, each as a person would say it, such as "heard “pupils equal” at 2:14".
    """

    step_id: str
    side: Side | None
    interval: Interval
    confidence: float
    reasons: tuple[str, ...] = ()

    @property
    def key(self) -> str:
        """What tells proposals of a film apart: the step, its side and the onset to a tenth of a second.

        Examples
        --------
        >>> Proposal("biceps", "left", Interval(61.26, 70.0), 0.9).key
        'biceps/left/61.3'
        """
        return f"{self.step_id}/{self.side or ''}/{self.interval.onset_s:.1f}"


@dataclass(frozen=True, slots=True)
class Refusal:
    """That a person does not want a step proposed in a stretch of a film; proposals computed later are held to it."""

    id: str
    recording_id: str
    step_id: str
    side: Side | None
    interval: Interval
    person_id: str
    at: datetime

    def reaches(self, proposal: Proposal) -> bool:
        """Tell whether a proposal says again what was refused: the same step and side, and mostly the same seconds.

        Examples
        --------
        >>> refusal = Refusal("x", "aa", "biceps", "left", Interval(60.0, 70.0), "p", datetime(2026, 1, 5))
        >>> refusal.reaches(Proposal("biceps", "left", Interval(64.0, 72.0), 0.9))
        True
        >>> refusal.reaches(Proposal("biceps", "left", Interval(66.0, 75.0), 0.9))
        False
        """
        if (proposal.step_id, proposal.side) != (self.step_id, self.side):
            return False
        one, other = self.interval, proposal.interval
        shared_s = min(one.offset_s, other.offset_s) - max(one.onset_s, other.onset_s)
        shorter_s = min(one.duration_s, other.duration_s)
        return shared_s >= 0 and (shared_s > _SAME_SHARE * shorter_s or shorter_s == 0)
