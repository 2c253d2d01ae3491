"""The neck: turned, bent, straightened, bent aside; the trunk still or turning along."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import ClassVar, Final

from ..checks import Columns, happening, must_read, onset, rest, span_of
from ..figure import Figure, Pose
from ..landmarks import head_angles_deg
from ..motion import keyed
from ..person import Person
from ..rotations import Array, Y, rotation
from .mimic import added
from .played import REST_S, Bust, at_ease, trunk_axes, turned_head
from .scene import Record

WAYS: Final[Mapping[str, tuple[str, float, str, str | None]]] = {
    "rotation_left": ("neck_yaw_deg", 1, "neck_rotation", "left"),
    "rotation_right": ("neck_yaw_deg", -1, "neck_rotation", "right"),
    "flexion": ("neck_pitch_deg", -1, "neck_flexion", None),
    "extension": ("neck_pitch_deg", 1, "neck_extension", None),
    "side_bend_left": ("neck_roll_deg", 1, "neck_side_bend", "left"),
    "side_bend_right": ("neck_roll_deg", -1, "neck_side_bend", "right"),
}
"""Column and sign of each way, and the measure and side that say how far it went."""

_ONSET_DEG: Final = 10.0
_HOLD_S: Final = 0.45
_SPEED_DEG_S: Final = 65.0


class Neck(Bust):
    """Moves the head one way after the other, back to the middle between them.

    Parameters
    ----------
    ways
        Name of `WAYS` and degrees against the trunk.
    trunk_share
        By how much of it the trunk turns along in rotations, to be taken off by the measure.
    """

    digits: ClassVar = {"neck_yaw_deg": 2, "neck_pitch_deg": 2, "neck_roll_deg": 2, "trunk_yaw_deg": 2}
    points: ClassVar = (
        "nose",
        *(f"{side}_{point}" for point in ("eye", "shoulder", "elbow") for side in ("left", "right")),
    )

    def __init__(self, people: dict[str, Person], ways: Sequence[tuple[str, float]], trunk_share: float = 0.0) -> None:
        self._trunk_share = trunk_share
        self._spells: list[tuple[str, float, float, float]] = []
        clock = REST_S
        for name, size in ways:
            moving = 0.25 + size / _SPEED_DEG_S
            self._spells.append((name, size, clock, moving))
            clock += 2 * moving + _HOLD_S + 0.1
        super().__init__(people, round(clock + REST_S - 0.1, 2))

    def pose(self, time_s: float) -> Pose:
        """Return the pose: the head turns on the neck, the whole trunk with it as far as it shall."""
        turned = {"neck_yaw_deg": 0.0, "neck_pitch_deg": 0.0, "neck_roll_deg": 0.0}
        for name, size, start, moving in self._spells:
            column, sign, _, _ = WAYS[name]
            end = start + moving + _HOLD_S
            course = keyed(time_s, [(start, 0.0), (start + moving, 1.0), (end, 1.0), (end + moving, 0.0)])
            turned[column] += sign * size * course
        trunk = self._trunk_share * turned["neck_yaw_deg"]
        rotations = turned_head(*turned.values())
        facing = rotation(Y, trunk)
        rotations["root"] = facing
        rotations, offset = at_ease(self.rig, rotations, facing)
        return Pose(rotations, offset, added(), columns={"trunk_yaw_deg": trunk})

    def readings(self, figure: Figure, places: dict[str, Array]) -> dict[str, float]:
        """Return yaw, pitch and roll of the head against the axes of the upper trunk."""
        against = trunk_axes(figure.bones).T @ figure.head_axes
        return dict(zip(("neck_yaw_deg", "neck_pitch_deg", "neck_roll_deg"), head_angles_deg(against), strict=True))

    def checks(self, columns: Columns) -> list[Record]:
        """Return the greatest angle of each way from rest, and when it set out."""
        times, span = columns["time_s"], span_of(columns["time_s"])
        result = []
        for name, _, start, moving in self._spells:
            column, sign, measure, side = WAYS[name]
            within = (times >= start - 0.05) & (times <= start + 2 * moving + _HOLD_S)
            away = sign * (columns[column] - rest(columns[column]))
            at_s = onset(times[within], away[within], _ONSET_DEG)
            found = [] if at_s is None else [happening(name, at_s, side)]
            result.append(must_read(measure, span, float(away[within].max()), side=side, events=found))
        return result
