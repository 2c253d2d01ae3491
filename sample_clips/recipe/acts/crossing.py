"""Two people: the partner stands, the examiner crosses in front and behind, goes out of the picture and comes back."""

from __future__ import annotations

from typing import ClassVar, Final

import numpy as np

from ..camera import Camera
from ..figure import Pose
from ..gait import Foot, Walk, Waypoint, upright
from ..look import EXAMINER, PARTNER
from ..motion import sines, with_rms
from ..occlusion import SkyLook
from ..person import Person
from ..room import ROOM_BEHIND, Box
from ..rotations import Array
from .scene import Record, Scene, spans

_WAY: Final[tuple[Waypoint, ...]] = (
    (1.0, -1.15, 0.10, 25),
    (1.8, -0.95, 0.45, 80),
    (2.8, -0.30, 0.95, 120),
    (3.3, -0.08, 1.00, 165),
    (4.0, 0.08, 1.00, 185),
    (4.5, 0.30, 0.95, 140),
    (5.5, 1.00, 0.50, 75),
    (6.2, 1.25, 0.10, -20),
    (7.2, 1.25, 0.10, -20),
    (7.9, 1.15, -0.30, -115),
    (8.9, 0.45, -0.85, -100),
    (9.9, -0.45, -0.85, -85),
    (10.9, -1.10, -0.40, -50),
    (11.6, -1.20, 0.00, 20),
    (12.8, -1.20, 0.00, 20),
    (13.5, -1.45, 0.05, -85),
    (15.0, -2.75, 0.10, -90),
    (16.1, -2.75, 0.10, 80),
    (17.7, -1.40, 0.10, 85),
    (18.5, -1.15, 0.05, 20),
)
"""Where the examiner walks, in metres of the room."""

_SPANS: Final = {
    "beside": (0.0, 1.0),
    "in_front": (1.0, 6.2),
    "apart": (6.2, 7.2),
    "behind": (7.2, 11.6),
    "apart_again": (11.6, 12.8),
    "out_and_back": (12.8, 18.5),
    "beside_again": (18.5, 19.4),
}

_SWAY: Final = with_rms([(0.17, 1.0, 0.4), (0.31, 0.6, 1.3), (0.53, 0.4, 2.6)], 0.005)
_STANCE_M: Final = 0.20
_TOES_OUT_DEG: Final = 8.0
_STROLL_M_S: Final = 0.8
"""Speed at which the arms swing fully."""


class Crossing(Scene):
    """The examiner turns to the partner while passing in front, so that one body covers the other."""

    looks: ClassVar = {"partner": PARTNER, "examiner": EXAMINER}
    seconds: ClassVar = 19.4
    camera: ClassVar = Camera((0, 1.2, 3.5), (0, 0.72, 0), 740, (0, 0.9, 0), 2.4, (960, 540))
    sky_look: ClassVar = SkyLook(96, 512, (0, 0.9, 0), 1.15)
    crf: ClassVar = 26
    points: ClassVar = (
        "nose",
        *(
            f"{side}_{point}"
            for point in ("eye", "shoulder", "elbow", "wrist", "hip", "knee", "ankle", "foot_index")
            for side in ("left", "right")
        ),
    )

    def __init__(self, people: dict[str, Person]) -> None:
        super().__init__(people)
        self._rigs = {name: person.body.rig for name, person in people.items()}
        size = people["examiner"].look.size
        way = [(time, x / size, z / size, facing) for time, x, z, facing in _WAY]
        self._walk = Walk(way, float(self._rigs["examiner"].head["foot.L"][1]))

    def boxes(self) -> dict[str, Box]:
        """Return the room behind."""
        return ROOM_BEHIND

    def poses(self, time_s: float) -> dict[str, Pose]:
        """Return the poses: the partner sways a little on planted feet, the examiner walks."""
        sway = np.array([sines(time_s, _SWAY), 0.0, 0.0])
        place, facing = self._walk.at(time_s)
        swing = self._walk.stride(time_s) * min(self._walk.speed(time_s) / _STROLL_M_S, 1.0)
        return {
            "partner": self._standing("partner", sway),
            "examiner": Pose(*upright(self._rigs["examiner"], place, facing, self._walk.feet(time_s), swing)),
        }

    def baking_poses(self) -> dict[str, Pose]:
        """Return each person standing in the middle of the room."""
        return {name: self._standing(name, np.zeros(3)) for name in self.people}

    def segments(self) -> list[Record]:
        """Return what the examiner does."""
        return spans(_SPANS)

    def _standing(self, name: str, place: Array) -> Pose:
        rig = self._rigs[name]
        height = rig.head["foot.L"][1]
        feet = {
            side: Foot(np.array([sign * _STANCE_M / 2, height, 0.0]), sign * _TOES_OUT_DEG)
            for side, sign in (("L", 1), ("R", -1))
        }
        return Pose(*upright(rig, place, 0.0, feet))
