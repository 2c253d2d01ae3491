"""Three knee jerks of the left leg, seated, seen from the left side."""

from __future__ import annotations

from typing import ClassVar, Final

import numpy as np

from ..camera import Camera
from ..figure import Figure, Pose
from ..motion import ease, pulse
from ..occlusion import SkyLook
from ..person import Person
from ..room import ROOM_ASIDE, Box, bench
from ..rotations import Array, X, Y, Z, placed, rotation
from .act import Act, blink_units, knee_angles
from .scene import Record, spans

_TAPS: Final = ((2.0, 25.0), (4.8, 12.0), (7.4, 35.0))
"""Moment of each tap in seconds and the extension that follows it in degrees."""

_LATENCY_S: Final = 0.06
_RISE_S: Final = 0.16
_DECAY_S: Final = 0.42
_SWING_HZ: Final = 0.95
_BLINKS_S: Final = (1.0, 4.0, 6.5)

_HIP_Y: Final = 0.80
_SEAT_Y: Final = _HIP_Y - 0.088
_HANGING_DEG: Final = 12.0
_APPROACH_S: Final = 0.28
_DRAWN_BACK_DEG: Final = 56.0


class Knee(Act):
    """The leg hangs, kicks 60 ms after a tap and swings out; the hammer moves by itself."""

    seconds: ClassVar = 10.0
    camera: ClassVar = Camera((3.6, 1.02, 0.20), (0, 0.90, 0.20), 1580, (0, 0.9, 0.1), 2.2)
    sky_look: ClassVar = SkyLook(96, 512, (0, 0.9, 0), 1.15)
    points: ClassVar = (
        "nose",
        *(
            f"{side}_{point}"
            for point in ("shoulder", "elbow", "wrist", "hip", "knee", "ankle", "foot_index")
            for side in ("left", "right")
        ),
        "hammer_head",
    )
    digits: ClassVar = {"extension_left_deg": 2, "knee_angle_left_deg": 2, "knee_angle_right_deg": 2}

    def __init__(self, people: dict[str, Person]) -> None:
        super().__init__(people)
        self._offset = Y * (_HIP_Y - self.rig.head["upperleg01.L"][1])
        self._resting_knee = self.rig.joint(self.rig.pose(self.pose(0.0).rotations, self._offset), "lowerleg01.L")

    def boxes(self) -> dict[str, Box]:
        """Return the room, the bench and the two parts of the hammer."""
        return {
            **ROOM_ASIDE,
            **bench(_SEAT_Y),
            "hammer_handle": Box((-0.007, -0.007, 0), (0.007, 0.007, 0.24), (0.25, 0.25, 0.26)),
            "hammer_head": Box((-0.016, -0.05, -0.02), (0.016, 0.05, 0.014), (0.10, 0.03, 0.025)),
        }

    def pose(self, time_s: float) -> Pose:
        """Return the pose: hands on the thighs, shins hanging, the left one kicking."""
        extension = _extension_deg(time_s)
        rotations: dict[str, Array] = {}
        for side, sign, kick in (("L", 1, extension), ("R", -1, 0.0)):
            self.rig.point_arm(rotations, self._offset, side, (sign * 0.20, -1, 0.10), (-sign * 0.10, -0.60, 1))
            flexed = np.deg2rad(_HANGING_DEG - kick)
            shin = (sign * 0.02, -np.cos(flexed), -np.sin(flexed))
            self.rig.hang_leg(rotations, side, (sign * 0.10, -0.06, 1.0), shin)
            rotations[f"foot.{side}"] = rotation(X, 14)
        closed = max(pulse(time_s, blink, blink + 0.1, 0.1) for blink in _BLINKS_S)
        return Pose(rotations, self._offset, blink_units(closed, closed), (0, -4), {"extension_left_deg": extension})

    def props(self, time_s: float) -> dict[str, Array]:
        """Return the place of the hammer: it swings in, touches below the kneecap and swings back."""
        away = min(abs(time_s - tap) for tap, _ in _TAPS)
        turn = rotation(X, _DRAWN_BACK_DEG * ease(away / _APPROACH_S)) @ rotation(X, 16)
        pivot = self._resting_knee + np.array([0, -0.114, 0.302])
        hammer = placed(turn, pivot - turn @ Z * 0.25)
        return {"hammer_handle": hammer, "hammer_head": hammer}

    def readings(self, figure: Figure, places: dict[str, Array]) -> dict[str, float]:
        """Return the angles of both knees."""
        return knee_angles(places)

    def segments(self) -> list[Record]:
        """Return the rest before the first tap and the time after each tap until the leg has come to rest."""
        named = {"relaxed": (0.0, _TAPS[0][0])}
        ends = [*(tap - _APPROACH_S for tap, _ in _TAPS[1:]), self.seconds]
        named |= {f"jerk_{i}": (tap, end) for i, ((tap, _), end) in enumerate(zip(_TAPS, ends, strict=True), 1)}
        return spans(named)

    def events(self) -> list[Record]:
        """Return the taps, each with the onset and the peak of the extension that follows."""
        return [
            {
                "kind": "tap",
                "side": "left",
                "onset_s": tap,
                "offset_s": tap,
                "extension_onset_s": round(tap + _LATENCY_S, 3),
                "extension_peak_s": round(tap + _LATENCY_S + _RISE_S, 3),
                "extension_deg": extension,
            }
            for tap, extension in _TAPS
        ]


def _extension_deg(time_s: float) -> float:
    total = 0.0
    for tap, size in _TAPS:
        since = time_s - tap - _LATENCY_S
        if since <= 0:
            continue
        swinging = since - _RISE_S
        if swinging < 0:
            total += size * ease(since / _RISE_S)
        else:
            total += size * np.exp(-swinging / _DECAY_S) * np.cos(2 * np.pi * _SWING_HZ * swinging)
    return float(total)
