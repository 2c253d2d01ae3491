"""A mark that the machine suggests: where a step seems to lie, how surely, and why."""

from __future__ import annotations

from dataclasses import dataclass

from review.domain.model import Interval, Side


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
