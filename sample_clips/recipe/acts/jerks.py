"""Tendon reflexes, seated: a hammer taps, the joint jerks 60 ms later and swings out, or nothing happens."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any, ClassVar, Final, Literal

import numpy as np

from ..camera import Camera
from ..checks import Columns, happening, must_read, must_refuse, onset, span_of
from ..figure import Figure, Pose
from ..landmarks import joint_angle_deg
from ..motion import ease
from ..occlusion import SkyLook
from ..person import Person
from ..rig import Rotations
from ..room import ROOM_BEHIND, Box, bench
from ..rotations import Array, X, Y, placed, rotation
from ..sounds import Sound, room, with_knocks
from .act import blink_units
from .played import BODY_POINTS, Played, in_front
from .scene import Record

Joint = Literal["knee", "elbow", "wrist", "ankle"]

LATENCY_S: Final = 0.06
_RISE_S: Final = 0.15
_DECAY_S: Final = 0.38
_SWING_HZ: Final = {"knee": 0.95, "ankle": 1.6, "elbow": 1.1, "wrist": 1.6}

_HIP_Y: Final = 0.80
_SEAT_Y: Final = _HIP_Y - 0.088
_HANGING_DEG: Final = 12.0
_FOOT_DEG: Final = 14.0
_FOREARM_DEG: Final = -22.0
_DROOP_DEG: Final = 24.0

_APPROACH_S: Final = 0.28
_DRAWN_BACK_DEG: Final = {"knee": 50.0, "elbow": 28.0, "wrist": 45.0, "ankle": 45.0}
_HANDLE_M: Final = 0.25
_ONSET_SHARE: Final = 0.06
"""Part of a jerk's height at which the movement counts as begun: what can be told from rest by eye."""

_APART_S: Final = 0.6
"""How long before the next tap the stretch of a tap ends: the swing of the one before has died away by then."""


class Jerk(Played):
    """Sits on a bench with one limb relaxed; each tap on its tendon is answered by a jerk of a given size.

    Parameters
    ----------
    joint
        Which joint jerks.
    side
        Of the person's own body.
    taps
        Moment of contact in seconds, and the size of the answer in degrees (0: none).
    seconds
        Length.
    heard
        Whether the taps knock.
    refuse
        Why the angle cannot be told, if the clip is such a one; that something jerked may be told all the same.

    Attributes
    ----------
    in_hand
        Whether a hand is seen that holds the hammer, so that the taps are seen where they are not heard.
    """

    in_hand: ClassVar[bool] = False
    usual_s: ClassVar = 5.0
    size_px: ClassVar = (512, 512)
    hair: ClassVar = 1200
    thinnest_strand_px: ClassVar = 0.62
    sky_look: ClassVar = SkyLook(40, 320, (0, 0.9, 0), 1.15)
    points: ClassVar = (*BODY_POINTS, "hammer_head")
    digits: ClassVar = {
        f"{joint}_angle_{side}_deg": 3 for joint in ("knee", "ankle", "elbow", "wrist") for side in ("left", "right")
    }

    def __init__(
        self,
        people: dict[str, Person],
        joint: Joint = "knee",
        side: Literal["left", "right"] = "left",
        taps: Sequence[tuple[float, float]] = ((1.2, 25.0), (3.2, 15.0)),
        seconds: float = 5.0,
        heard: bool = True,
        refuse: str = "",
    ) -> None:
        self._joint, self._side, self._taps, self._heard, self._refuse = joint, side, taps, heard, refuse
        self._letter = side[0].upper()
        super().__init__(people, seconds)
        self._offset = Y * (_HIP_Y - self.rig.head["upperleg01.L"][1])
        self._hammer_at = self._contact()

    def placed_camera(self) -> Camera:
        """Return the camera at the height of the seated trunk, 3 m away."""
        return in_front((0.0, 0.86, 0.16), 3.0, 1.72, self.size_px, 1.4, place_y=0.95)

    def boxes(self) -> dict[str, Box]:
        """Return the room, the bench and the two parts of the hammer."""
        return {
            **ROOM_BEHIND,
            **bench(_SEAT_Y),
            "hammer_handle": Box((-0.007, -0.007, 0), (0.007, 0.007, 0.24), (0.25, 0.25, 0.26)),
            "hammer_head": Box((-0.016, -0.05, -0.02), (0.016, 0.05, 0.014), (0.10, 0.03, 0.025)),
        }

    def pose(self, time_s: float) -> Pose:
        """Return the pose: seated, hands on the thighs, and what has jerked."""
        return Pose(self._seated(self._answer(time_s)), self._offset, blink_units(0.0, 0.0), (0, -4))

    def props(self, time_s: float) -> dict[str, Array]:
        """Return the place of the hammer: it swings in, touches and swings back."""
        away = min(abs(time_s - tap) for tap, _ in self._taps)
        place, handle, axis = self._hammer_at
        pivot = place + handle[:, 2] * _HANDLE_M
        turn = rotation(axis, _DRAWN_BACK_DEG[self._joint] * ease(away / _APPROACH_S)) @ handle
        hammer = placed(turn, pivot - turn[:, 2] * _HANDLE_M)
        return {"hammer_handle": hammer, "hammer_head": hammer}

    def readings(self, figure: Figure, places: dict[str, Array]) -> dict[str, float]:
        """Return the inner angles of the joints, joint centre to joint centre.

        The far end of the hand is the middle between the knuckles of the index and the little finger.
        """
        found = {}
        for side in ("left", "right"):
            at = {name: places[f"{side}_{name}"] for name in ("shoulder", "elbow", "wrist", "hip", "knee", "ankle")}
            at["foot"] = places[f"{side}_foot_index"]
            letter = side[0].upper()
            knuckles = [self.rig.joint(figure.bones, f"finger{number}-1.{letter}") for number in (2, 5)]
            at["hand"] = (knuckles[0] + knuckles[1]) / 2
            for joint, (near, far) in _ENDS.items():
                found[f"{joint}_angle_{side}_deg"] = joint_angle_deg(at[near], at[joint], at[far])
        return found

    def checks(self, columns: Columns) -> list[Record]:
        """Return for each tap how far the joint jerked and when that began, and the taps that are heard."""
        span, measure = span_of(columns["time_s"]), f"{self._joint}_jerk"
        if self._refuse:
            result = [must_refuse(measure, span, self._refuse, side=self._side)]
        else:
            borders = [span[0], *(round(tap - _APART_S, 4) for tap, _ in self._taps[1:]), span[1]]
            result = [
                self._answered(columns, tap, size, within)
                for (tap, size), within in zip(self._taps, pairwise(borders), strict=True)
            ]
        if self._heard or self.in_hand:
            heard = [happening("tap", tap) for tap, _ in self._taps]
            result.append(must_read("tap_moment", span, len(heard), events=heard))
        return result

    def _answered(self, columns: Columns, tap: float, size: float, span: tuple[float, float]) -> Record:
        """Return the check of the stretch around one tap, which holds no other."""
        measure, times = f"{self._joint}_jerk", columns["time_s"]
        if not size:
            return must_read(measure, span, 0.0, side=self._side, events=[])
        angle = columns[f"{self._joint}_angle_{self._side}_deg"]
        within = (times >= tap) & (times < tap + 0.5)
        change = angle[within] - angle[times <= tap][-1]
        height = float(change[np.argmax(abs(change))])
        at_s = onset(times[within], np.abs(change), _ONSET_SHARE * abs(height))
        began = happening("jerk", tap + LATENCY_S if at_s is None else at_s, self._side)
        return must_read(measure, span, height, side=self._side, events=[began])

    def events(self) -> list[Record]:
        """Return the taps and what followed."""
        return [
            {"kind": "tap", "side": self._side, "onset_s": tap, "offset_s": tap, "answer_deg": size}
            for tap, size in self._taps
        ]

    def plan(self) -> Record:
        """Return which joint jerks and how long after the tap."""
        return {"joint": self._joint, "latency_s": LATENCY_S}

    def sound(self) -> Sound | None:
        """Return the room with a knock at every tap."""
        if not self._heard:
            return None
        return with_knocks(room(self.seconds), [tap for tap, _ in self._taps])

    def _answer(self, time_s: float) -> float:
        """How far the joint is from its resting angle, degrees."""
        total = 0.0
        for tap, size in self._taps:
            since = time_s - tap - LATENCY_S
            swinging = since - _RISE_S
            if swinging >= 0:
                wave = np.cos(2 * np.pi * _SWING_HZ[self._joint] * swinging)
                total += size * np.exp(-swinging / _DECAY_S) * wave
            elif since > 0:
                total += size * ease(since / _RISE_S)
        return float(total)

    def _seated(self, answer: float) -> Rotations:
        rotations: Rotations = {}
        for letter, sign in (("L", 1), ("R", -1)):
            own = {self._joint: answer} if letter == self._letter else {}
            self._set_leg(rotations, letter, sign, own)
            self._set_arm(rotations, letter, sign, own)
        return rotations

    def _set_leg(self, rotations: Rotations, letter: str, sign: int, own: dict[Any, float]) -> None:
        flexed = np.deg2rad(_HANGING_DEG - own.get("knee", 0.0))
        shin = (sign * 0.02, -np.cos(flexed), -np.sin(flexed))
        self.rig.hang_leg(rotations, letter, (sign * 0.10, -0.06, 1.0), shin)
        rotations[f"foot.{letter}"] = rotation(X, _FOOT_DEG + own.get("ankle", 0.0))

    def _set_arm(self, rotations: Rotations, letter: str, sign: int, own: dict[Any, float]) -> None:
        raised = np.deg2rad(_FOREARM_DEG + own.get("elbow", 0.0))
        fore = (-sign * 0.06, np.sin(raised), np.cos(raised))
        self.rig.point_arm(rotations, self._offset, letter, (sign * 0.20, -1, 0.0), fore)
        if self._joint == "wrist" and letter == self._letter:
            above = self.rig.pose(rotations, self._offset)[f"lowerarm02.{letter}"][:3, :3]
            droop = rotation(X, _DROOP_DEG - own.get("wrist", 0.0))
            rotations[f"wrist.{letter}"] = above.T @ droop @ above

    def _contact(self) -> tuple[Array, Array, Array]:
        """Where the hammer touches, its axes then (the handle along the third), and about which axis it swings."""
        bones = self.rig.pose(self._seated(0.0), self._offset)
        at = {name: self.rig.joint(bones, f"{bone}.{self._letter}") for name, bone in _BONES.items()}
        if self._joint == "knee":
            return at["knee"] + np.array([0, -0.075, 0.068]), rotation(X, 16), X
        if self._joint == "elbow":
            return at["elbow"] + np.array([0, 0.055, 0.048]), rotation(X, -75), -X
        if self._joint == "wrist":
            return (at["wrist"] * 0.75 + at["elbow"] * 0.25) + Y * 0.045, rotation(X, -12), X
        return at["ankle"] + np.array([0, 0.035, -0.062]), rotation(Y, 180) @ rotation(X, 30), -X


_ENDS: Final = {
    "knee": ("hip", "ankle"),
    "ankle": ("knee", "foot"),
    "elbow": ("shoulder", "wrist"),
    "wrist": ("elbow", "hand"),
}
"""Joint -> the two points between which its inner angle lies."""

_BONES: Final = {"knee": "lowerleg01", "ankle": "foot", "elbow": "lowerarm01", "wrist": "wrist"}
