"""Standing and walking: feet that stay where they are put, legs that reach them, arms that swing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.interpolate import PchipInterpolator

from .motion import arc, ease
from .rig import Rig, Rotations
from .rotations import Array, X, Y, Z, rotation

Waypoint = tuple[float, float, float, float]
"""Moment in seconds, x and z in metres, and to where the person faces: degrees from z towards x."""

STEP_S: Final = 0.52
"""Time from the lift of one foot to the lift of the other."""

_SWING_S: Final = 0.42
_LIFT_M: Final = 0.05
_FULL_STEP_M: Final = 0.3
_TOE_UP_DEG: Final = 14.0
_FOOT_ASIDE_M: Final = 0.085
_TOES_OUT_DEG: Final = 7.0
_KNEE_SLACK: Final = 0.995
_ARM_SWING: Final = 0.32


@dataclass(frozen=True)
class Foot:
    """Where a foot is in the room: its ankle, to where it points (degrees), how far its toes are raised (degrees)."""

    ankle: Array
    facing_deg: float
    toe_up_deg: float = 0.0


class Walk:
    """A way through the room, and the feet that carry somebody along it.

    Parameters
    ----------
    waypoints
        Passed on a smooth curve that overshoots none of them; two at the same place are a stay.
    ankle_height_m
        Height of the ankle of a foot on the floor.
    """

    def __init__(self, waypoints: Sequence[Waypoint], ankle_height_m: float) -> None:
        times, *values = np.array(waypoints, float).T
        self._curve = PchipInterpolator(times, np.stack(values, axis=1))
        self._start, self._end = float(times[0]), float(times[-1])
        self._ankle_height_m = ankle_height_m

    def at(self, time_s: float) -> tuple[Array, float]:
        """Return the point of the floor below the person, ``(x, 0, z)``, and to where he or she faces."""
        x, z, facing_deg = self._curve(min(max(time_s, self._start), self._end))
        return np.array([x, 0.0, z]), float(facing_deg)

    def speed(self, time_s: float) -> float:
        """Return how fast the point below the person moves, metres a second."""
        before, after = (self.at(time_s + shift)[0] for shift in (-0.15, 0.15))
        return float(np.linalg.norm(after - before) / 0.3)

    def stride(self, time_s: float) -> float:
        """Return -1 to 1: the left foot is ahead by a whole step (1), or the right one (-1)."""
        return float(np.cos(np.pi * (time_s - _SWING_S) / STEP_S))

    def feet(self, time_s: float) -> dict[str, Foot]:
        """Return both feet, ``L`` and ``R``."""
        return {"L": self._foot(time_s, 0.0, 1), "R": self._foot(time_s, STEP_S, -1)}

    def _foot(self, time_s: float, first_lift_s: float, sign: int) -> Foot:
        """Each foot is lifted every second step and set down where the person will be half way through its stay."""
        number = np.floor((time_s - first_lift_s) / (2 * STEP_S))
        lift_s = first_lift_s + number * 2 * STEP_S
        stay_s = 2 * STEP_S - _SWING_S
        before, before_deg = self._footprint(lift_s - stay_s / 2, sign)
        after, after_deg = self._footprint(lift_s + _SWING_S + stay_s / 2, sign)
        way = float(np.linalg.norm(after - before))
        height = min(way / _FULL_STEP_M, 1.0) * arc(time_s, lift_s, lift_s + _SWING_S)
        course = ease((time_s - lift_s) / _SWING_S)
        ankle = before + (after - before) * course + Y * (self._ankle_height_m + _LIFT_M * height)
        return Foot(ankle, before_deg + (after_deg - before_deg) * course, _TOE_UP_DEG * height * (2 * course - 1))

    def _footprint(self, time_s: float, sign: int) -> tuple[Array, float]:
        place, facing_deg = self.at(time_s)
        return place + sign * _FOOT_ASIDE_M * (rotation(Y, facing_deg) @ X), facing_deg + sign * _TOES_OUT_DEG


def upright(
    rig: Rig, place: Array, facing_deg: float, feet: dict[str, Foot], swing: float = 0.0
) -> tuple[Rotations, Array]:
    """Return the rotations and the offset of somebody upright above `place` whose legs reach `feet`.

    Parameters
    ----------
    swing
        How far the left foot is ahead, -1 to 1; the arms swing against it.
    """
    facing = rotation(Y, facing_deg)
    root = rig.head["root"]
    behind = rig.head["foot.L"][2]
    moved = place + facing @ (root - Z * behind) - root
    offset = moved - Y * _sinking(rig, moved, facing, feet)
    rotations: Rotations = {"root": facing}
    hang_arms(rig, rotations, offset, facing, swing)
    for side, foot in feet.items():
        turn = rotation(Y, foot.facing_deg) @ rotation(X, -foot.toe_up_deg)
        rig.bend_leg(rotations, offset, side, foot.ankle, facing @ Z, turn)
    return rotations, offset


def hang_arms(rig: Rig, rotations: Rotations, offset: Array, facing: Array | None = None, swing: float = 0.0) -> None:
    """Let both arms hang at the sides of a trunk turned by `facing`; `rotations` is changed.

    Parameters
    ----------
    swing
        -1 to 1: how far the left arm is behind and the right one ahead.
    """
    turn = np.eye(3) if facing is None else facing
    for side, sign in (("L", 1), ("R", -1)):
        ahead = -sign * _ARM_SWING * swing
        upper = (sign * 0.17, -1, 0.02 + ahead)
        fore = (sign * 0.05, -1, 0.12 + ahead + max(ahead, 0.0))
        rig.point_arm(rotations, offset, side, turn @ upper, turn @ fore)


def _sinking(rig: Rig, offset: Array, facing: Array, feet: dict[str, Foot]) -> float:
    """How far the hips must come down for the leg that reaches farther to be almost straight."""
    needed = []
    for side, foot in feet.items():
        root = rig.head["root"]
        hip = root + facing @ (rig.head[f"upperleg01.{side}"] - root) + offset
        away = hip - foot.ankle
        reach = _KNEE_SLACK * sum(rig.leg_lengths(side))
        needed.append(away[1] - np.sqrt(max(reach**2 - away[0] ** 2 - away[2] ** 2, 0.0)))
    return float(max(needed))
