"""An examiner's finger goes through an H before the face; the eyes follow it, the head stays."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import ClassVar, Final

import numpy as np

from ..arms import point_finger, reach
from ..camera import Camera
from ..casting import CAST
from ..checks import Columns, happening, must_read, span_of
from ..figure import Pose
from ..gait import hang_arms
from ..person import Person
from ..rig import Rotations
from ..rotations import Y, rotation
from .act import blink_units
from .looking import H_PATH, lid_units
from .mimic import added
from .played import Bust, in_front
from .scene import Record

ENDS_DEG: Final = {
    "right": (-1.0, 0.0),
    "right_up": (-1.0, 0.65),
    "right_down": (-1.0, -0.65),
    "left": (1.0, 0.0),
    "left_up": (1.0, 0.65),
    "left_down": (1.0, -0.65),
}
"""Yaw and pitch of each end, seen from the eyes, in parts of how far aside the finger goes."""

_START_S: Final = 1.2
_DWELL_S: Final = 0.42
_FACING_DEG: Final = 110.0


class Target(Bust):
    """Two people: the examiner stands at the person's own right, out of the picture but for the arm that points up.

    Parameters
    ----------
    order
        Ends of the path in their order; the finger goes through the middle when the side changes.
    aside_deg
        How far to the side it goes, seen from the eyes.
    away_m
        Distance from the eyes.
    pace_deg_s
        How fast it goes, seen from the eyes.
    """

    looks: ClassVar = {"person": CAST["p01"], "examiner": CAST["p02"]}
    usual_s: ClassVar = 9.0
    covered_m: ClassVar = 0.66
    digits: ClassVar = {"target_yaw_deg": 2, "target_pitch_deg": 2}

    def __init__(
        self,
        people: dict[str, Person],
        order: Sequence[str] = H_PATH,
        aside_deg: float = 24.0,
        away_m: float = 0.37,
        pace_deg_s: float = 38.0,
    ) -> None:
        self._order, self._away_m, self._pace = order, away_m, pace_deg_s
        self._ways, self._reached = _schedule(order, aside_deg, pace_deg_s)
        super().__init__(people, round(self._ways[-1][0] + 0.9, 2))
        self._helper = people["examiner"].body.rig
        eyes = self.person.body.eye_centres
        self._eyes = (eyes["left"] + eyes["right"]) / 2

    def placed_camera(self) -> Camera:
        """Return the camera a little above the eyes, 1.7 m away."""
        _, eye_y, eye_z = self.person.body.eye_centres["left"]
        return in_front((0.0, eye_y - 0.06, eye_z), 1.7, self.covered_m, self.size_px, 0.9, place_y=float(eye_y) + 0.10)

    def poses(self, time_s: float) -> dict[str, Pose]:
        """Return the poses of the person who follows and of the examiner who points."""
        return {"person": self.pose(time_s), "examiner": self._pointing(time_s)}

    def pose(self, time_s: float) -> Pose:
        """Return the pose of the person: the eyes follow the finger."""
        yaw, pitch = self._target(time_s)
        rotations: Rotations = {}
        offset = 0 * Y
        hang_arms(self.rig, rotations, offset)
        units = added(*(lid_units(side, 0.0, pitch) for side in ("Left", "Right")))
        columns = {"target_yaw_deg": yaw, "target_pitch_deg": pitch}
        return Pose(rotations, offset, units, (yaw, pitch), columns)

    def checks(self, columns: Columns) -> list[Record]:
        """Return the ends that were reached, in their order, and the pace between them."""
        span = span_of(columns["time_s"])
        found = [happening(name, at_s) for name, at_s in self._reached]
        return [
            must_read("target_path", span, len(set(self._order)), events=found),
            must_read("target_pace", span, self._pace),
        ]

    def events(self) -> list[Record]:
        """Return when each end is reached."""
        return [
            {"kind": "target_end", "position": name, "onset_s": round(at_s, 3), "offset_s": round(at_s + _DWELL_S, 3)}
            for name, at_s in self._reached
        ]

    def _target(self, time_s: float) -> tuple[float, float]:
        """Yaw and pitch of the finger at a moment, degrees."""
        times = [way[0] for way in self._ways]
        yaw, pitch = (float(np.interp(time_s, times, [way[1][axis] for way in self._ways])) for axis in (0, 1))
        return yaw, pitch

    def _pointing(self, time_s: float) -> Pose:
        rig = self._helper
        yaw, pitch = np.deg2rad(self._target(time_s))
        ahead = np.array([np.sin(yaw) * np.cos(pitch), np.sin(pitch), np.cos(yaw) * np.cos(pitch)])
        tip = self._eyes + self._away_m * ahead
        facing = rotation(Y, _FACING_DEG)
        rotations: Rotations = {"root": facing}
        root = rig.head["root"]
        stand = np.array([-0.42, 0.0, self._eyes[2] + self._away_m + 0.28])
        offset = stand - root * np.array([1.0, 0.0, 1.0])
        hang_arms(rig, rotations, offset, facing)
        point_finger(rig, rotations, "L")
        reach(
            rig,
            rotations,
            offset,
            "L",
            tip,
            np.array([0.7, 0.75, 0.0]),
            np.array([0.1, 0.0, -1.0]),
            np.array([0.0, -1.0, 0.3]),
        )
        return Pose(rotations, offset, blink_units(0.0, 0.0))


def _schedule(
    order: Sequence[str], aside_deg: float, pace_deg_s: float
) -> tuple[list[tuple[float, tuple[float, float]]], list[tuple[str, float]]]:
    """Return moments with the yaw and pitch passed then, straight ways between, and when ends are reached."""
    clock, here = _START_S, (0.0, 0.0)
    ways, reached = [(0.0, here), (clock, here)], []
    stops: list[tuple[str, tuple[float, float]]] = []
    for before, name in pairwise(["", *order]):
        if before and before.split("_")[0] != name.split("_")[0]:
            stops += [("", (stops[-1][1][0], 0.0)), ("", (0.0, 0.0))]
        yaw, pitch = ENDS_DEG[name]
        stops.append((name, (yaw * aside_deg, pitch * aside_deg)))
    for name, place in [*stops, ("", (0.0, 0.0))]:
        clock += float(np.hypot(place[0] - here[0], place[1] - here[1])) / pace_deg_s
        ways.append((clock, place))
        if name:
            reached.append((name, clock))
            clock += _DWELL_S
            ways.append((clock, place))
        here = place
    return ways, reached
