"""What of the proposals is right, and whether their confidence says so."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

from review.domain.proposal import Proposal
from review.pipeline.first_pass.proposing import NEAR_S
from tests.benchmarks.first_pass.attempts import Attempt

BINS = (0.0, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1.0)


@dataclass
class Count:
    """What came of the attempts in one room."""

    steps: int = 0
    right: int = 0
    skipped: int = 0
    skipped_proposed: int = 0
    proposed: int = 0
    sure: list[tuple[float, bool]] = field(default_factory=list)

    def add(self, attempt: Attempt, proposals: Sequence[Proposal]) -> None:
        """Count one attempt; each step that was done is found by one proposal at most."""
        marked = matched(attempt, proposals)
        self.steps += len(attempt.done)
        self.right += sum(right for _, right in marked)
        self.skipped += len(attempt.skipped)
        self.skipped_proposed += len({(one.step_id, one.side) for one in proposals} & attempt.skipped)
        self.proposed += len(proposals)
        self.sure += [(one.confidence, right) for one, right in marked]

    def figures(self) -> dict[str, Any]:
        """Return the shares."""
        return {
            "right": share(self.right, self.steps),
            "proposed_right": share(self.right, self.proposed),
            "skipped_proposed": share(self.skipped_proposed, self.skipped),
            "steps": self.steps,
            "proposed": self.proposed,
            "skipped": self.skipped,
        }


def share(part: int, whole: int) -> float | None:
    """Return a share to three places; None of nothing."""
    return round(part / whole, 3) if whole else None


def matched(attempt: Attempt, proposals: Sequence[Proposal]) -> list[tuple[Proposal, bool]]:
    """Tell which proposals are right: of a step that was done, on its side, with its onset within `NEAR_S`."""
    free = list(attempt.done)
    found = []
    for one in proposals:
        at_s = one.interval.onset_s
        mine = [step for step in free if (step["step"], step["side"]) == (one.step_id, one.side)]
        near = [step for step in mine if abs(step["onset_s"] - at_s) <= NEAR_S]
        if near:
            free.remove(near[0])
        found.append((one, bool(near)))
    return found


def calibration(sure: Iterable[tuple[float, bool]]) -> list[tuple[str, int, float, float]]:
    """Return for each range of confidence how many proposals there are, their mean confidence and the share right."""
    known = list(sure)
    rows = []
    for low, high in pairwise(BINS):
        mine = [one for one in known if low <= one[0] < high]
        if mine:
            mean = sum(confidence for confidence, _ in mine) / len(mine)
            rows.append((f"{low:.2f}-{high:.2f}", len(mine), mean, sum(right for _, right in mine) / len(mine)))
    return rows
