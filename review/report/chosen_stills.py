"""Which three moments of a step its row shows: those that its values rest on."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import chain
from typing import Final

from review.domain.model import Interval, Value

COUNT: Final = 3
_EVEN: Final = (1 / 2, 1 / 6, 5 / 6)
_APART: Final = 1 / 12
"""Least distance of two moments, as a share of the step's seconds."""


def still_times(seconds: Interval, values: Sequence[Value] = ()) -> list[float]:
    """Return three moments of a stretch, in order and apart, in seconds.

    They are the middles of the stretches that the first value with evidence rests on, each as far from those chosen
    before as can be; then other moments of that evidence, then the evidence of further values, then the stretch's
    middle, first and last sixth. Without values the last alone.
    """
    chosen: list[float] = []
    gap = _APART * seconds.duration_s
    for moments in _pools(seconds, values):
        left = list(moments)
        while left and len(chosen) < COUNT:
            farthest = max(left, key=lambda one: _distance(one, chosen, seconds))
            left.remove(farthest)
            if all(abs(farthest - one) >= gap for one in chosen):
                chosen.append(farthest)
    return [round(one, 3) for one in sorted(chosen)]


def _pools(seconds: Interval, values: Sequence[Value]) -> Iterable[list[float]]:
    """Yield moments to choose from, the best first."""
    rests = [[part for part in map(lambda one: _within(one, seconds), found) if part] for found in _evidence(values)]
    known = [parts for parts in rests if parts]
    for parts in known[:1]:
        yield [_at(part, 1 / 2) for part in parts]
        yield [_at(part, share) for part in parts for share in _EVEN]
    yield [_at(part, 1 / 2) for part in chain.from_iterable(known[1:])]
    yield [_at(seconds, share) for share in _EVEN]


def _evidence(values: Sequence[Value]) -> list[tuple[Interval, ...]]:
    return [value.estimate.evidence for value in values]


def _within(part: Interval, seconds: Interval) -> Interval | None:
    onset_s, offset_s = max(part.onset_s, seconds.onset_s), min(part.offset_s, seconds.offset_s)
    return Interval(onset_s, offset_s) if onset_s <= offset_s else None


def _at(part: Interval, share: float) -> float:
    return part.onset_s + share * part.duration_s


def _distance(moment: float, chosen: Sequence[float], seconds: Interval) -> float:
    """How far a moment is from those chosen; the first is chosen nearest to the middle of the stretch."""
    if not chosen:
        return -abs(moment - _at(seconds, 1 / 2))
    return min(abs(moment - one) for one in chosen)
