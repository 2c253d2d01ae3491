"""Heads joined over time: seen now and then, and carried from one sighting to the next, forward and backward."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from typing import Final

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from review.capture.background import Grey
from review.capture.circles import about
from review.capture.head_carrying import carried
from review.capture.head_finders import Found, merged

CARRY_S: Final = 3.0
"""How long a head that is not seen any more is carried on, seconds."""

BACK_S: Final = 2.0
"""How far a head that is seen again, or for the first time, is carried back, seconds."""

_REACH: Final = (0.8, 0.8, 2.0)
_GROWTH: Final = 0.12
_FRESH_S: Final = 0.15
_OUTSIDE: Final = 0.3
_RANGE: Final = 1.3
_LEAST_S: Final = 0.4
_LOOKS: Final = 6
_SHARE: Final = 0.3
_TWICE_S: Final = 0.35
_LARGE: Final = 0.1


@dataclass(frozen=True, slots=True)
class HeadTracks:
    """All heads of a film, look by look.

    Attributes
    ----------
    time_s
        Times of the looks, shape ``(look,)``, seconds.
    size
        Width and height of the picture as displayed.
    head, look
        Number of the head and of the look of each row, shape ``(row,)``.
    circle
        Middle and radius, shape ``(row, 3)``, px.
    seen
        Whether it was seen there rather than carried; shape ``(row,)``.
    body
        Place of its body in `bodies`, negative where it has none or several; shape ``(row,)``.
    crowded
        Whether as many bodies were found as are told apart, so that there may be more; shape ``(look,)``.
    bodies
        Over the looks; the variables ``body``, ``pose_xy``, ``pose_visibility`` and ``colour`` of
        `review.domain.sightings`.
    """

    time_s: NDArray[np.float64]
    size: tuple[int, int]
    head: NDArray[np.int_]
    look: NDArray[np.int_]
    circle: NDArray[np.float64]
    seen: NDArray[np.bool_]
    body: NDArray[np.int_]
    crowded: NDArray[np.bool_]
    bodies: xr.Dataset


@dataclass(slots=True)
class _Live:
    """A head that is followed."""

    number: int
    circle: NDArray[np.float64]
    since_s: float
    seen_s: float = -np.inf
    radius: float = 0.0
    looks: int = 0
    sightings: int = 0

    @property
    def doubtful(self) -> bool:
        """Whether it was looked for often and seen seldom, as what is no head."""
        return self.looks >= _LOOKS and self.sightings < _SHARE * self.looks

    def see(self, circle: NDArray[np.float64], time_s: float) -> None:
        self.circle, self.seen_s, self.radius = circle, time_s, float(circle[2])
        self.sightings += 1

    def grown(self, time_s: float) -> NDArray[np.float64]:
        """Return the circle, the larger the longer it was not seen."""
        size = np.clip(self.circle[2], self.radius / _RANGE, self.radius * _RANGE)
        return np.array([*self.circle[:2], size * (1 + _GROWTH * (time_s - self.seen_s))])

    def lasts_s(self) -> float:
        """Return how long it is carried on when it is not seen any more: the shorter, the less it was seen."""
        return min(CARRY_S, _LEAST_S + 2 * (self.seen_s - self.since_s))


@dataclass(slots=True)
class Following:
    """Heads as they are joined, look by look.

    Attributes
    ----------
    size
        Width and height of the picture as displayed.
    rows
        Head, look, middle x and y, radius, whether seen, place of the body.
    doubted
        Numbers of what was taken for a head and hardly ever seen again.
    """

    size: tuple[int, int]
    rows: list[tuple[int, int, float, float, float, bool, int]] = field(default_factory=list)
    doubted: set[int] = field(default_factory=set)
    _live: list[_Live] = field(default_factory=list)
    _lately: deque[tuple[int, float, Grey]] = field(default_factory=deque)
    _heads: int = 0

    def expect(self, grey: Grey) -> NDArray[np.float64]:
        """Carry all heads that are followed into the next picture; return their circles, shape ``(head, 3)``."""
        for live in self._live if self._lately else ():
            live.circle = carried(live.circle, self._lately[-1][2], grey, self.size[0])
        self._live = [live for live in self._live if not self._outside(live.circle)]
        return np.array([live.circle for live in self._live]).reshape(-1, 3)

    def see(self, look: int, time_s: float, grey: Grey, found: list[Found]) -> None:
        """Join what was found in a picture to the heads that are followed, and carry on those that were not found."""
        heads = merged(found)
        taken = self._joined(time_s, heads)
        self._lately.append((look, time_s, grey))
        while time_s - self._lately[0][1] > BACK_S:
            self._lately.popleft()
        for head, live in zip(heads, taken, strict=True):
            if live is None:
                self._heads += 1
                live = _Live(self._heads, head.circle, time_s)
                self._live.append(live)
            if time_s - live.seen_s > _FRESH_S:
                self._carry_back(live.number, head.circle, live.seen_s)
            live.see(head.circle, time_s)
            for circle in (head.circle, *head.beside):
                self._write(live.number, look, circle, True, head.body)
        for live in self._live:
            live.looks += 1
            if live.seen_s < time_s:
                self._write(live.number, look, live.grown(time_s), False, -1)
        self.doubted |= {live.number for live in self._live if live.doubtful}
        self._live = [each for each in self._live if time_s - each.seen_s <= each.lasts_s() and not each.doubtful]

    def _joined(self, time_s: float, heads: list[Found]) -> list[_Live | None]:
        """Return for each found head the followed one that it is, the nearest pairs first."""
        near = []
        for place, head in enumerate(heads):
            for live in self._live:
                reach = min(_REACH[0] + _REACH[1] * (time_s - live.seen_s), _REACH[2])
                if about(head.circle, live.circle[None], reach)[0]:
                    near.append((float(np.hypot(*(head.circle[:2] - live.circle[:2]))), place, live))
        taken: list[_Live | None] = [None] * len(heads)
        for _, place, live in sorted(near, key=lambda each: each[0]):
            if taken[place] is None and all(live is not other for other in taken):
                taken[place] = live
        return taken

    def _carry_back(self, number: int, circle: NDArray[np.float64], until_s: float) -> None:
        """Carry a circle back through the pictures kept, up to when the head was last seen."""
        kept = list(self._lately)
        now = kept[-1][1]
        for (_, _, after), (look, time_s, before) in zip(kept[:0:-1], kept[-2::-1], strict=True):
            if time_s <= until_s:
                return
            circle = carried(circle, after, before, self.size[0])
            if self._outside(circle):
                return
            self._write(number, look, circle * (1, 1, 1 + _GROWTH * (now - time_s)), False, -1)

    def _outside(self, circle: NDArray[np.float64]) -> bool:
        beyond = np.maximum(-circle[:2], circle[:2] - self.size)
        return bool((beyond > _OUTSIDE * circle[2]).any())

    def _write(self, number: int, look: int, circle: NDArray[np.float64], seen: bool, body: int) -> None:
        self.rows.append((number, look, float(circle[0]), float(circle[1]), float(circle[2]), seen, body))


def believed(
    rows: NDArray[np.float64], time_s: NDArray[np.float64], doubted: set[int], long_side_px: float
) -> NDArray[np.bool_]:
    """Tell which rows of `Following.rows` are kept, shape ``(row,)``.

    Of what was hardly ever seen again those sightings are kept that have another within a third of a second, with what
    lies between: a head that moves fast is seen like that. What was seen once only is no head, and neither is what was
    seen seldom though it would be a large one: no model misses that.

    Parameters
    ----------
    rows, doubted
        Of a `Following`.
    time_s
        Times of the looks, shape ``(look,)``, seconds.
    long_side_px
        Longer side of the picture that was looked at.
    """
    kept = np.ones(len(rows), dtype=np.bool_)
    times = time_s[rows[:, 1].astype(int)]
    seen = rows[:, 5] == 1
    for number in np.unique(rows[:, 0]):
        mine = rows[:, 0] == number
        sightings = np.unique(times[mine & seen])
        near = np.diff(sightings) <= _TWICE_S
        if number in doubted or len(sightings) == 1:
            twice = sightings[np.append(near, False) | np.insert(near, 0, False)]
            away = np.abs(times[mine][:, None] - twice).min(axis=1, initial=np.inf)
            kept[mine] = (away <= _TWICE_S) & (np.median(rows[mine & seen, 4]) <= _LARGE * long_side_px)
    return kept
