"""From the heads of a film to what is masked in a copy, and to the seconds that nobody vouches for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from review.capture.circles import about
from review.capture.head_tracks import CARRY_S, HeadTracks
from review.capture.masked import Masks
from review.domain.masking import Doubt, Doubtful, Heads
from review.domain.model import Pointing
from review.pipeline.people import bodies_of
from review.pipeline.who import examined

HOLD_S: Final = 0.1
"""A head is masked where it was so long before, and where it will be so long after."""

MARGIN_S: Final = 0.5
"""How long before its first and after its last place a head is masked there, seconds."""

_DOUBT_S: Final = 0.25
_GUESSED_S: Final = 0.3
_BETWEEN: Final = 0.4
_STEPS: Final = (0.25, 0.5, 0.75)
_MARGIN: Final = 1.05
_OFTEN: Final = 15
_SAME: Final = 0.8
_NEAR: Final = 1.5
_JOIN_S: Final = 0.5
_SHORTEST_S: Final = 0.2

Flags = npt.NDArray[np.bool_]
Numbers = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class MaskPlan:
    """What is masked, as `review.capture.masked.Masks`, and what should be looked at before the copy is shared."""

    masks: Masks
    doubtful: tuple[Doubtful, ...]


def mask_plan(
    tracks: HeadTracks, heads: Heads, pointings: Sequence[Pointing], mirrored: bool, end_s: float
) -> MaskPlan:
    """Say what is masked.

    Parameters
    ----------
    tracks
        The heads of the film.
    heads
        Whose are masked. The examined person's is left open only where the body it sits on is surely that person's,
        for a quarter of a second around too.
    pointings
        Where people pointed at the examined person.
    mirrored
        Whether the film shows the room mirrored; masks are for the film as it is.
    end_s
        Time of the last frame.
    """
    left_open = np.zeros(len(tracks.head), dtype=np.bool_)
    doubts = [*_guessed(tracks), *_lost(tracks, end_s), *_where(tracks, tracks.crowded, Doubt.CROWDED)]
    if heads is Heads.OTHERS:
        left_open, unsure = _examined(tracks, pointings)
        doubts += _where(tracks, unsure, Doubt.UNSURE)
    there = np.bincount(tracks.look, minlength=len(tracks.time_s)) > 0
    doubts += _where(tracks, ~there, Doubt.NOBODY)
    masks = _masks(tracks, ~left_open)
    if mirrored:
        masks[:, 2] = tracks.size[0] - masks[:, 2]
    return MaskPlan(masks, tuple(sorted(_joined(doubts), key=lambda one: (one.start_s, one.why))))


def _examined(tracks: HeadTracks, pointings: Sequence[Pointing]) -> tuple[Flags, Flags]:
    """Tell which rows are surely the examined person's head, and in which looks it was not told apart surely."""
    bodies = bodies_of(tracks.bodies)
    found = examined(bodies, tracks.size, pointings)
    sure = _all_near(found.sure, tracks.time_s, _DOUBT_S)
    place = np.where(sure, found.place, -1)
    mine = tracks.seen & (tracks.body >= 0) & (tracks.body == place[tracks.look])
    known = {int(tracks.look[row]): int(tracks.head[row]) for row in np.flatnonzero(mine)}
    looks = np.array(sorted(known), dtype=int)
    left_open = mine.copy()
    for row in np.flatnonzero(~mine & sure[tracks.look] & (found.place[tracks.look] < 0)).tolist():
        after = int(np.searchsorted(looks, tracks.look[row]))
        around = looks[max(0, after - 1) : after + 1]
        near = np.abs(tracks.time_s[around] - tracks.time_s[tracks.look[row]]) <= _DOUBT_S
        left_open[row] = (
            len(around) == 2 and near.all() and {known[look] for look in around.tolist()} == {tracks.head[row]}
        )
    somebody = bodies.there.any(axis=1)
    return left_open, ~sure & somebody


def _all_near(flags: Flags, time_s: Numbers, near_s: float) -> Flags:
    """Tell where a flag is set at every time within `near_s`."""
    unset = np.append(0, np.cumsum(~flags))
    low = np.searchsorted(time_s, time_s - near_s)
    high = np.searchsorted(time_s, time_s + near_s, side="right")
    return np.asarray(unset[high] == unset[low])


def _masks(tracks: HeadTracks, masked: Flags) -> Masks:
    time_s = tracks.time_s
    before = np.diff(time_s, prepend=time_s[:1] - HOLD_S)
    after = np.diff(time_s, append=time_s[-1:] + HOLD_S)
    at = time_s[tracks.look]
    start = at - np.maximum(HOLD_S, before[tracks.look])
    stop = at + np.maximum(HOLD_S, after[tracks.look])
    for number in np.unique(tracks.head):
        mine = tracks.head == number
        first, last = at[mine].min(), at[mine].max()
        start = np.where(mine & (at == first), first - MARGIN_S, start)
        stop = np.where(mine & (at == last), last + MARGIN_S, stop)
    rows = np.column_stack([start, stop, tracks.circle])[masked]
    whole = np.concatenate([rows, *_between(tracks, masked)])
    whole[:, 4] *= _MARGIN
    return np.asarray(whole[np.argsort(whole[:, 0], kind="stable")])


def _between(tracks: HeadTracks, masked: Flags) -> list[Numbers]:
    """Return masks between two sightings of a head that moved far from one look to the next."""
    order = np.lexsort((tracks.look, tracks.head))
    order = order[(tracks.seen & masked)[order]]
    one, next_one = order[:-1], order[1:]
    follows = (tracks.head[one] == tracks.head[next_one]) & (tracks.look[next_one] == tracks.look[one] + 1)
    moved = np.hypot(*(tracks.circle[next_one] - tracks.circle[one])[:, :2].T)
    far = follows & (moved > _BETWEEN * tracks.circle[one, 2])
    one, next_one = one[far], next_one[far]
    start, stop = tracks.time_s[tracks.look[one]], tracks.time_s[tracks.look[next_one]]
    ways = [tracks.circle[one] + step * (tracks.circle[next_one] - tracks.circle[one]) for step in _STEPS]
    return [np.column_stack([start, stop, way]) for way in ways]


def _guessed(tracks: HeadTracks) -> list[Doubtful]:
    """Return the seconds in which a head was carried and not seen within a third of a second, nor another there."""
    at = tracks.time_s[tracks.look]
    elsewhere = np.array([_seen_as_another(tracks, row) for row in range(len(at))], dtype=np.bool_)
    doubtful = np.zeros(len(tracks.time_s), dtype=np.bool_)
    for number in np.unique(tracks.head):
        mine = tracks.head == number
        sightings = np.sort(at[mine & tracks.seen])
        rows = np.flatnonzero(mine & ~tracks.seen & ~elsewhere)
        after = np.searchsorted(sightings, at[rows])
        near = np.column_stack(
            [sightings[np.clip(after - 1, 0, None)], sightings[np.clip(after, None, len(sightings) - 1)]]
        )
        doubtful[tracks.look[rows[np.abs(near - at[rows, None]).min(axis=1) > _GUESSED_S]]] = True
    return _where(tracks, doubtful, Doubt.GUESSED)


def _seen_as_another(tracks: HeadTracks, row: int, near_s: float = 0.0, reach: float = _SAME) -> bool:
    """Tell whether another head was seen where one is carried, so that there is one head under two numbers."""
    low, high = np.searchsorted(tracks.time_s, tracks.time_s[tracks.look[row]] + np.array([-near_s, near_s]))
    other = tracks.seen & (tracks.head != tracks.head[row]) & (tracks.look >= low) & (tracks.look <= high)
    return bool(about(tracks.circle[row], tracks.circle[other], reach).any())


def _lost(tracks: HeadTracks, end_s: float) -> list[Doubtful]:
    """Return the seconds after a head that was often seen ended in the picture, up to where another one begins."""
    at = tracks.time_s[tracks.look]
    numbers = np.unique(tracks.head)
    begun = np.array([at[tracks.head == number].min() for number in numbers])
    doubts = []
    for number in numbers:
        mine = tracks.head == number
        last = np.flatnonzero(mine)[at[mine].argmax()]
        x, y, radius = tracks.circle[last]
        inside = radius < x < tracks.size[0] - radius and radius < y < tracks.size[1] - radius
        inside = inside and not _seen_as_another(tracks, last, CARRY_S, _NEAR)
        if inside and len(np.unique(tracks.look[mine & tracks.seen])) >= _OFTEN and at[last] + MARGIN_S < end_s:
            stop = min([*begun[begun > at[last]], end_s])
            doubts.append(Doubtful(float(at[last]), float(stop), Doubt.LOST))
    return doubts


def _where(tracks: HeadTracks, flags: Flags, why: Doubt) -> list[Doubtful]:
    """Return the seconds in which a flag of looks is set."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(int)))
    last = len(tracks.time_s) - 1
    spans = [(tracks.time_s[low], tracks.time_s[min(high, last)]) for low, high in edges.reshape(-1, 2)]
    return [Doubtful(float(start), float(stop), why) for start, stop in spans]


def _joined(doubts: Sequence[Doubtful]) -> list[Doubtful]:
    """Join seconds of one kind that lie close, and leave out the shortest."""
    joined: list[Doubtful] = []
    for one in sorted(doubts, key=lambda one: (one.why, one.start_s)):
        if joined and joined[-1].why is one.why and one.start_s - joined[-1].stop_s <= _JOIN_S:
            last = joined.pop()
            one = Doubtful(last.start_s, max(last.stop_s, one.stop_s), one.why)
        joined.append(one)
    return [one for one in joined if one.stop_s - one.start_s >= _SHORTEST_S]
