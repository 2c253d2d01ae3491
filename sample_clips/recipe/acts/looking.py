"""Gaze into the six positions, or some of them, by the eyes or by the head; and lids that blink and stay shut."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar, Final

from ..checks import Columns, happening, must_read, must_refuse, onset, rest, span_of
from ..figure import Pose
from ..motion import ease, keyed, pulse
from ..person import Person
from .act import blink_units
from .mimic import added
from .played import REST_S, CloseUp, at_ease, turned_head
from .scene import Record

POSITIONS: Final = {
    "right": (-1.0, 0.0),
    "right_up": (-1.0, 0.7),
    "right_down": (-1.0, -0.85),
    "left": (1.0, 0.0),
    "left_up": (1.0, 0.7),
    "left_down": (1.0, -0.85),
}
"""Yaw and pitch of each position, in parts of how far it is looked aside."""

H_PATH: Final = ("right", "right_up", "right_down", "left", "left_up", "left_down")

_MOVING_S: Final = 0.22


class Gaze(CloseUp):
    """Looks to one position after the other; by way of the middle when the side changes.

    Parameters
    ----------
    order
        Names of `POSITIONS`.
    aside_deg
        How far the eyes go to the side.
    hold_s
        How long each position is held.
    head_share
        How much of the way the head turns instead of the eyes, 0 to 1.
    blinks_s
        When both eyes blink.
    """

    points: ClassVar = (*CloseUp.points,)

    def __init__(
        self,
        people: dict[str, Person],
        order: Sequence[str] = H_PATH,
        aside_deg: float = 20.0,
        hold_s: float = 0.75,
        head_share: float = 0.0,
        blinks_s: Sequence[float] = (),
    ) -> None:
        self._order, self._aside_deg, self._head_share, self._blinks_s = order, aside_deg, head_share, blinks_s
        self.holds: list[tuple[str, float, float]] = []
        clock, side = REST_S, ""
        for name in order:
            if side and name.split("_")[0] != side:
                clock += _MOVING_S + 0.25
            side = name.split("_")[0]
            self.holds.append((name, clock + _MOVING_S, clock + _MOVING_S + hold_s))
            clock += _MOVING_S + hold_s
        super().__init__(people, round(clock + _MOVING_S + REST_S, 2))

    def pose(self, time_s: float) -> Pose:
        """Return the pose: the lids follow the eyes."""
        yaw, pitch = (self._aside_deg * keyed(time_s, self._keys(axis)) for axis in (0, 1))
        own = 1 - self._head_share
        closed = max((pulse(time_s, blink, blink + 0.10, 0.08) for blink in self._blinks_s), default=0.0)
        rotations, offset = at_ease(self.rig, turned_head(yaw * self._head_share, pitch * self._head_share))
        units = added(*(lid_units(side, closed, pitch * own) for side in ("Left", "Right")))
        return Pose(rotations, offset, units, (yaw * own, pitch * own))

    def checks(self, columns: Columns) -> list[Record]:
        """Return how many positions the eyes reached in the head, and how far the head turned."""
        span = span_of(columns["time_s"])
        yaw = columns["head_yaw_deg"] - rest(columns["head_yaw_deg"])
        if self._head_share:
            sides = [("left", float(yaw.max())), ("right", float(-yaw.min()))]
            return [
                *self._by_eyes_that_stayed(span),
                *(must_read("head_yaw_range", span, size, side=side) for side, size in sides if size > 1),
            ]
        found = [happening(name, start) for name, start, _ in self.holds]
        return [
            must_read("gaze_sweep", span, len(set(self._order)), events=found),
            must_read("head_stillness", span, 1.0),
            must_refuse("gaze_steadiness", span, "30 frames a second are too few"),
        ]

    def _by_eyes_that_stayed(self, span: tuple[float, float]) -> list[Record]:
        """Return that no position counts while the eyes stay in the middle; a head turned far may also be refused."""
        return [must_read("gaze_sweep", span, 0)] if self._aside_deg * self._head_share <= 15 else []

    def events(self) -> list[Record]:
        """Return the positions held."""
        return [
            {
                "kind": "gaze_hold",
                "position": name,
                "onset_s": round(start, 3),
                "offset_s": round(end, 3),
                "yaw_deg": self._aside_deg * POSITIONS[name][0],
                "pitch_deg": self._aside_deg * POSITIONS[name][1],
            }
            for name, start, end in self.holds
        ]

    def _keys(self, axis: int) -> list[tuple[float, float]]:
        keys = [(0.0, 0.0), (REST_S, 0.0)]
        last = ""
        for name, start, end in self.holds:
            if last and name.split("_")[0] != last:
                keys += [(keys[-1][0] + _MOVING_S, 0.0), (start - _MOVING_S, 0.0)]
            last = name.split("_")[0]
            keys += [(start, POSITIONS[name][axis]), (end, POSITIONS[name][axis])]
        return [*keys, (keys[-1][0] + _MOVING_S, 0.0)]


class Lids(CloseUp):
    """Blinks, and shuts both eyes or one of them for a while.

    Parameters
    ----------
    held
        Onset and offset in seconds of a closure of both eyes.
    blinks_s
        When both eyes blink.
    winks
        Side, onset and offset of closures of one eye alone.
    """

    def __init__(
        self,
        people: dict[str, Person],
        held: tuple[float, float] = (1.2, 3.6),
        blinks_s: Sequence[float] = (0.7, 4.4),
        winks: Sequence[tuple[str, float, float]] = (),
        seconds: float = 5.2,
    ) -> None:
        self._held, self._blinks_s, self._winks = held, blinks_s, winks
        super().__init__(people, seconds)

    def pose(self, time_s: float) -> Pose:
        """Return the pose: only the lids move."""
        rotations, offset = at_ease(self.rig, {})
        left, right = (self._closed(time_s, side) for side in ("left", "right"))
        return Pose(rotations, offset, blink_units(left, right))

    def checks(self, columns: Columns) -> list[Record]:
        """Return the longest closure of each eye and the share of the time that both were shut."""
        times, span = columns["time_s"], span_of(columns["time_s"])
        result = []
        for side in ("left", "right"):
            closed = columns[f"closed_{side}"]
            start = onset(times[times > self._held[0] - 0.2], closed[times > self._held[0] - 0.2], 0.5)
            end = onset(times[times > self._held[1] - 0.1], 1 - closed[times > self._held[1] - 0.1], 0.5)
            result.append(must_read("eye_closure", span, (end or times[-1]) - (start or times[0]), side=side))
        both = (columns["closed_left"] > 0.5) & (columns["closed_right"] > 0.5)
        return [*result, must_read("eyes_closed_share", span, float(both.mean()))]

    def _closed(self, time_s: float, side: str) -> float:
        held = ease((time_s - self._held[0]) / 0.2) * (1 - ease((time_s - self._held[1]) / 0.2))
        blinks = (pulse(time_s, blink, blink + 0.10, 0.08) for blink in self._blinks_s)
        winks = (pulse(time_s, start, end, 0.12) for whose, start, end in self._winks if whose == side)
        return max(held, *blinks, *winks)


def lid_units(side: str, closed: float, pitch_deg: float) -> dict[str, float]:
    """Return the units of the lids of one eye, which follow the gaze up and down.

    A negative weight of looking up lowers the lower lid when the gaze goes down.
    """
    down, up = (max(sign * pitch_deg / 15, 0) * (1 - closed) for sign in (-1, 1))
    return {
        f"eyeBlink{side}": closed,
        f"eyeLookDown{side}": 0.4 * down,
        f"eyeLookUp{side}": 0.2 * up - 1.2 * down,
        f"eyeWide{side}": 0.7 * up,
    }
