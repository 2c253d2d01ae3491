"""An examiner beside the one who is examined: stands by, walks past in front, or lays a hand on a joint."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, ClassVar, Final

import numpy as np

from ..arms import hand_axes, reach
from ..camera import Camera
from ..casting import CAST
from ..figure import Pose
from ..gait import Foot, Walk, Waypoint, upright
from ..motion import arc, ease
from ..person import Person
from ..rig import Rig, Rotations
from ..rotations import Array, move
from .act import blink_units
from .played import Played

Direction = tuple[float, float, float]

_STROLL_M_S: Final = 0.8
"""Speed at which the arms swing fully."""

_REACHING_S: Final = 0.6
_BLINK_EVERY_S: Final = 3.3
_ASIDE_M: Final = 0.09


def staying(x_m: float, z_m: float, facing_deg: float) -> tuple[Waypoint, ...]:
    """Return the way of somebody who stays at a place."""
    return ((0.0, x_m, z_m, facing_deg), (1.0, x_m, z_m, facing_deg))


@dataclass(frozen=True)
class Laid:
    """A hand that goes to a joint of the examined person, follows it, and goes away again.

    Parameters
    ----------
    bone
        Whose joint it follows, a bone of the skeleton.
    beside_m
        Where its fingertip is from that joint.
    from_s, until_s
        When it is there; it sets out and is back `_REACHING_S` before and after.
    along, palm, elbow
        To where the finger points, the palm faces, and the elbow bends.
    """

    bone: str
    beside_m: Direction
    from_s: float
    until_s: float
    along: Direction
    palm: Direction
    elbow: Direction = (0.0, -1.0, 0.0)

    def share(self, time_s: float) -> float:
        """Return how far the hand is on its way, 0 hanging to 1 there."""
        there = ease((time_s - self.from_s + _REACHING_S) / _REACHING_S)
        return there * (1 - ease((time_s - self.until_s) / _REACHING_S))


@dataclass(frozen=True)
class Company:
    """Where an examiner is, and what the hands do.

    Parameters
    ----------
    way
        Through the room, in metres of it: x to the examined person's own left, z before that person.
    hands
        Hand (``L``, ``R``) -> what it is laid on; the other one hangs.
    pointed_s
        When somebody points at the examined person, before the film is analysed; None: it is guessed who that is.
    """

    way: tuple[Waypoint, ...]
    hands: Mapping[str, Laid] = field(default_factory=dict)
    pointed_s: float | None = None


class Accompanied(Played):
    """To be put before an act of one person: the examiner is about as well.

    Parameters
    ----------
    company
        What the examiner does; all other parameters are those of the act.
    """

    looks: ClassVar = {"person": CAST["p01"], "examiner": CAST["p02"]}

    def __init__(self, people: dict[str, Person], company: Company, **given: Any) -> None:
        super().__init__(people, **given)
        self._company = company
        self._helper = people["examiner"].body.rig
        self._walk = Walk(company.way, float(self._helper.head["foot.L"][1]))
        self.pointed_s = company.pointed_s

    def placed_camera(self) -> Camera:
        """Return the act's camera; what throws shadows reaches further."""
        camera = super().placed_camera()
        return replace(camera, lit_radius_m=max(camera.lit_radius_m, 1.6))

    def poses(self, time_s: float) -> dict[str, Pose]:
        """Return the poses of both."""
        mine = self.pose(time_s)
        return {"person": mine, "examiner": self._beside(time_s, mine)}

    def baking_poses(self) -> dict[str, Pose]:
        """Return both as they stand where the act puts its person."""
        return super().baking_poses() | {"examiner": self.standing(self._helper)}

    def standing(self, rig: Rig) -> Pose:
        """Return somebody who stands in the middle of the room."""
        height = float(rig.head["foot.L"][1])
        feet = {side: Foot(np.array([sign * _ASIDE_M, height, 0.0]), 0.0) for side, sign in (("L", 1), ("R", -1))}
        return Pose(*upright(rig, np.zeros(3), 0.0, feet))

    def _beside(self, time_s: float, mine: Pose) -> Pose:
        place, facing = self._walk.at(time_s)
        swing = self._walk.stride(time_s) * min(self._walk.speed(time_s) / _STROLL_M_S, 1.0)
        rotations, offset = upright(self._helper, place, facing, self._walk.feet(time_s), swing)
        for letter, laid in self._company.hands.items():
            share = laid.share(time_s)
            if share > 0:
                joint = self.rig.joint(self.rig.pose(mine.rotations, mine.offset), laid.bone)
                lay_hand(self._helper, rotations, offset, letter, joint + np.array(laid.beside_m), laid, share)
        since = (time_s + 1.1) % _BLINK_EVERY_S
        closed = arc(since, 0.0, 0.22)
        return Pose(rotations, offset, blink_units(closed, closed))


def lay_hand(rig: Rig, rotations: Rotations, offset: Array, letter: str, tip: Array, laid: Laid, share: float) -> None:
    """Take one hand that hangs part of the way to `tip`; `rotations` is changed."""
    hanging = rig.pose(rotations, offset)
    bones = [f"{bone}.{letter}" for bone in ("upperarm01", "lowerarm01", "wrist")]
    shoulder, elbow, wrist = (rig.joint(hanging, bone) for bone in bones)
    axes = hanging[f"wrist.{letter}"][:3, :3] @ hand_axes(rig, letter)
    last = f"finger2-3.{letter}"
    start = move(hanging[last], rig.tail[last])

    def between(now: Array, then: Direction | Array) -> Array:
        return now + (np.asarray(then) - now) * share

    bent = elbow - (shoulder + wrist) / 2
    reach(
        rig,
        rotations,
        offset,
        letter,
        between(start, tip),
        between(axes[:, 0], laid.along),
        between(axes[:, 1], laid.palm),
        between(bent / max(float(np.linalg.norm(bent)), 1e-6), laid.elbow),
    )
