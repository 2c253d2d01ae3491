"""Acts of one person in which an examiner has a part: beside, behind, passing, with a hand or a hammer."""

from __future__ import annotations

from typing import Any, ClassVar, Final

import numpy as np

from ..arms import grip, reach
from ..camera import Camera
from ..casting import CAST
from ..figure import Figure, Pose
from ..gait import Foot, hang_arms, upright
from ..motion import arc
from ..person import Person
from ..rotations import Array, Y, rotation
from .act import blink_units
from .company import Accompanied
from .jerks import Jerk
from .mimic import Mimic
from .neck import Neck
from .played import at_ease, in_front
from .shoulders import Shrug
from .standing import Standing, Sway
from .touching import Touches

_PALM_M: Final = (0.085, 0.03)
"""Middle of a closed hand from the wrist: along the hand and out of the palm."""

_HAND_M: Final = 0.18
_ASIDE_M: Final = 0.11


class StandingInCompany(Accompanied, Standing):
    """`Standing` with an examiner about."""

    fps: ClassVar = 15


class SwayInCompany(Accompanied, Sway):
    """`Sway` with an examiner about."""


class ShrugInCompany(Accompanied, Shrug):
    """`Shrug` with an examiner about."""

    fps: ClassVar = 15


class NeckInCompany(Accompanied, Neck):
    """`Neck` with an examiner about."""

    fps: ClassVar = 15


class MimicInCompany(Accompanied, Mimic):
    """`Mimic` with an examiner about; the picture is wider than a close-up."""

    fps: ClassVar = 15
    covered_m: ClassVar = 0.56
    size_px: ClassVar = (640, 480)
    hair: ClassVar = 2000


class Touched(Touches):
    """`Touches` by the hand of an examiner who stands before the person, out of the picture but for the arm.

    ``hand`` says from which side of the person the hand comes.
    """

    looks: ClassVar = {"person": CAST["p01"], "examiner": CAST["p02"]}

    def __init__(self, people: dict[str, Person], **given: Any) -> None:
        super().__init__(people, **given)
        self._helper = people["examiner"].body.rig

    def poses(self, time_s: float) -> dict[str, Pose]:
        """Return the poses of the person who keeps still and of the examiner who touches."""
        return {"person": self.pose(time_s), "examiner": self._toucher(time_s)}

    def pose(self, time_s: float) -> Pose:
        """Return the pose of the person: arms hang, the eyes blink now and then."""
        rotations, offset = at_ease(self.rig, {})
        closed = arc((time_s + 1.0) % 2.9, 0.0, 0.22)
        columns = {"touching": self.touching(time_s), "finger_to_skin_mm": self._away_mm(time_s)}
        return Pose(rotations, offset, blink_units(closed, closed), columns=columns)

    def readings(self, figure: Figure, places: dict[str, Array]) -> dict[str, float]:
        """Return nothing: how far the finger is comes with the pose."""
        return {}

    def _away_mm(self, time_s: float) -> float:
        tip = self.tip(time_s)
        return 1000 * min(float(np.linalg.norm(tip - site)) for site in self.sites.values())

    def _toucher(self, time_s: float) -> Pose:
        rig, sign = self._helper, self.sign
        facing = rotation(Y, 180.0 + sign * 45.0)
        rotations = {"root": facing}
        root = rig.head["root"]
        stand = np.array([sign * 0.37, 0.0, self.sites["left_chin"][2] + 0.30])
        offset = stand - root * np.array([1.0, 0.0, 1.0])
        hang_arms(rig, rotations, offset, facing)
        letter = "L" if sign > 0 else "R"
        palm, elbow = np.array([-sign * 0.3, -0.8, -0.4]), np.array([sign * 0.6, -0.9, 0.3])
        self.lay_finger(rig, rotations, offset, time_s, letter, palm, elbow)
        return Pose(rotations, offset, blink_units(0.0, 0.0))


class HammerInHand(Jerk):
    """`Jerk` of the elbow with an examiner who stands before the person and holds the hammer."""

    in_hand: ClassVar = True
    looks: ClassVar = {"person": CAST["p01"], "examiner": CAST["p02"]}

    def __init__(self, people: dict[str, Person], **given: Any) -> None:
        super().__init__(people, joint="elbow", **given)
        self.pointed_s = 0.5
        self._helper = people["examiner"].body.rig

    def placed_camera(self) -> Camera:
        """Return a camera as far away as for `Jerk`, turned a little towards the examiner."""
        return in_front((0.0, 0.86, 0.30), 3.0, 1.78, self.size_px, 1.6, place_y=0.95)

    def poses(self, time_s: float) -> dict[str, Pose]:
        """Return the poses of the person whose elbow jerks and of the examiner who strikes."""
        return {"person": self.pose(time_s), "examiner": self._striker(time_s)}

    def baking_poses(self) -> dict[str, Pose]:
        """Return the person seated, and the examiner standing in the middle of the room."""
        return {"person": self.pose(0.0), "examiner": Pose(*self._upright(np.zeros(3), 0.0))}

    def _upright(self, place: Array, facing_deg: float) -> tuple[dict[str, Array], Array]:
        height = float(self._helper.head["foot.L"][1])
        across = rotation(Y, facing_deg)[:, 0]
        feet = {
            side: Foot(place + sign * _ASIDE_M * across + height * Y, facing_deg)
            for side, sign in (("L", 1), ("R", -1))
        }
        return upright(self._helper, place, facing_deg, feet)

    def _striker(self, time_s: float) -> Pose:
        rig = self._helper
        hammer = self.props(time_s)["hammer_handle"]
        handle = hammer[:3, 2]
        held = hammer[:3, 3] + 0.22 * handle
        rotations, offset = self._upright(np.array([held[0], 0.0, held[2] + 0.42]), 180.0)
        letter, palm = "R", np.array([-1.0, 0.0, 0.0])
        across = np.cross(palm, handle)
        along = across * (1.0 if across[2] < 0 else -1.0) - 0.3 * handle
        along /= np.linalg.norm(along)
        tip = held + along * (_HAND_M - _PALM_M[0]) - palm * _PALM_M[1]
        grip(rig, rotations, letter)
        reach(rig, rotations, offset, letter, tip, along, palm, np.array([0.3, -1.0, 0.2]))
        return Pose(rotations, offset, blink_units(0.0, 0.0))
