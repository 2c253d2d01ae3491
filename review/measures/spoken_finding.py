"""Whether a step's finding was said aloud in its seconds: said, another value, unclear, or not heard.

A verdict in words, not a number: nothing of it is a grade, and not heard is not the same as not said.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final, Literal

from review.domain.model import Interval, Side
from review.domain.spoken import Hit

BEFORE_S: Final = 1.0
"""A finding may begin so long before the step's mark, which a person set."""

AFTER_S: Final = 6.0
"""A finding may be said so long after the step's mark ends, unless another step begins before."""

Verdict = Literal["said", "other", "unclear", "not heard"]


@dataclass(frozen=True, slots=True)
class Spoken:
    """What was heard of a step's finding; `hit` is the one that counts, `earlier` those before it."""

    verdict: Verdict
    hit: Hit | None = None
    earlier: tuple[Hit, ...] = ()


def spoken_finding(hits: Iterable[Hit], side: Side | None, seconds: Interval) -> Spoken:
    """Judge what was heard of a step's finding in some seconds of the film.

    The last clear hit counts, as who corrects oneself means the last; only without a clear one an unclear one does. A
    finding said of the other side is another value.

    Parameters
    ----------
    hits
        Where the step's finding was heard in the film.
    side
        The side that the step was done on; None for a step without sides.
    seconds
        In which it is listened for, see `listened_seconds`; the middle of a hit must lie in them.
    """
    inside = sorted((_sided(hit, side) for hit in hits if seconds.holds(_middle(hit))), key=lambda hit: hit.interval)
    clear = [hit for hit in inside if hit.heard != "unclear"]
    counted = clear or inside
    if not counted:
        return Spoken("not heard")
    last = counted[-1]
    return Spoken(last.heard, last, tuple(hit for hit in inside if hit is not last))


def listened_seconds(mark: Interval, onsets_s: Iterable[float]) -> Interval:
    """Return the seconds in which a step's finding is listened for.

    Parameters
    ----------
    mark
        The seconds of the step.
    onsets_s
        When other steps begin.

    Examples
    --------
    >>> listened_seconds(Interval(10.0, 20.0), [3.0, 23.5])
    Interval(onset_s=9.0, offset_s=23.5)
    """
    end_s = mark.offset_s + AFTER_S
    following = [onset for onset in onsets_s if mark.offset_s <= onset < end_s]
    return Interval(max(0.0, mark.onset_s - BEFORE_S), min([end_s, *following]))


def _sided(hit: Hit, side: Side | None) -> Hit:
    if side is None or hit.side in (None, side):
        return hit
    return replace(hit, heard="other", value=hit.side or "")


def _middle(hit: Hit) -> float:
    return (hit.interval.onset_s + hit.interval.offset_s) / 2
