"""The examined person stands, then walks out of the picture; the examiner stays where he or she is."""

from __future__ import annotations

from typing import Any, ClassVar, Final

from ..checks import Columns, must_read, must_refuse
from ..figure import Pose
from ..gait import Walk, Waypoint, upright
from ..motion import arc
from ..person import Person
from .act import blink_units
from .company import Accompanied
from .played import WholeBody
from .scene import Record

_STAYS_S: Final = 3.2
_WAY: Final[tuple[Waypoint, ...]] = (
    (0.0, -0.30, 0.0, 0.0),
    (_STAYS_S, -0.30, 0.0, 0.0),
    (3.9, -0.36, 0.0, -70.0),
    (5.9, -2.30, 0.0, -90.0),
    (6.5, -2.60, 0.0, -90.0),
)
_GONE_S: Final = 6.4
_REFUSING: Final = (
    "stance_width",
    "stance_width_mm",
    "base_of_support",
    "shoulder_elevation",
    "facial_movement",
    "eye_closure",
    "gaze_sweep",
    "neck_rotation",
    "jaw_opening",
)


class Leaving(Accompanied, WholeBody):
    """Stands for some seconds and leaves; nothing may be read from the examiner who stays.

    Parameters
    ----------
    seconds
        Length; the person is gone after 6.4 s.
    """

    fps: ClassVar = 15
    usual_s: ClassVar = 11.0
    size_px: ClassVar = (720, 720)

    def __init__(self, people: dict[str, Person], seconds: float = 11.0, **given: Any) -> None:
        super().__init__(people, seconds=seconds, **given)
        self._leaving = Walk(_WAY, float(self.rig.head["foot.L"][1]))

    def baking_poses(self) -> dict[str, Pose]:
        """Return both standing in the middle of the room."""
        return {name: self.standing(person.body.rig) for name, person in self.people.items()}

    def pose(self, time_s: float) -> Pose:
        """Return the pose of the person: standing, then walking."""
        place, facing = self._leaving.at(time_s)
        swing = self._leaving.stride(time_s) * min(self._leaving.speed(time_s) / 0.8, 1.0)
        closed = arc(time_s % 2.7, 1.4, 1.62)
        posed = upright(self.rig, place, facing, self._leaving.feet(time_s), swing)
        return Pose(*posed, blink_units(closed, closed))

    def segments(self) -> list[Record]:
        """Return where the person stands, and where he or she is gone."""
        return [
            {"name": "stands", "onset_s": 0.0, "offset_s": _STAYS_S},
            {"name": "gone", "onset_s": _GONE_S, "offset_s": self.seconds},
        ]

    def checks(self, columns: Columns) -> list[Record]:
        """Return the stance while the person stands, and that there is none afterwards."""
        there = (round(float(columns["time_s"][0]), 4), _STAYS_S - 0.9)
        gone = (_GONE_S, round(float(columns["time_s"][-1]), 4))
        stance = columns["stance_m"][0]
        return [
            must_read("stance_width", there, stance / columns["shoulder_width_m"][0]),
            must_read("stance_width_mm", there, 1000 * stance),
            *(must_refuse(measure, gone, "the examined person has left") for measure in _REFUSING),
        ]
