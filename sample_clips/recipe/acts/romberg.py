"""Quiet standing from the front: feet apart, feet together, eyes shut, a step aside."""

from __future__ import annotations

from typing import ClassVar, Final

import numpy as np

from ..camera import Camera
from ..figure import Figure, Pose
from ..gait import hang_arms
from ..motion import Keys, arc, ease, keyed, pulse, sines, with_rms
from ..occlusion import SkyLook
from ..person import Person
from ..room import ROOM_BEHIND, Box
from ..rotations import Array, X, Y, Z, rotation
from .act import Act, between, blink_units
from .scene import Record, spans

_LEFT_STEP: Final = (2.5, 3.0)
_RIGHT_STEP: Final = (3.1, 3.6)
_SIDE_STEP: Final = (46.1, 46.55)
_APART_X, _TOGETHER_X, _STEPPED_X = 0.17, 0.058, 0.20
_LIFT_M: Final = 0.035

_EYES_SHUT: Final = (24.2, 45.2)
_SHUTTING_S: Final = 0.5
_OPENING_S: Final = 0.4
_BLINKS_S: Final = (9.4, 17.8)

_SWAY_SIDEWAYS: Final = with_rms([(0.173, 1.0, 0.4), (0.311, 0.62, 1.3), (0.527, 0.38, 2.6)], 1.0)
_SWAY_FORWARD: Final = with_rms([(0.139, 1.0, 2.1), (0.281, 0.58, 0.2), (0.467, 0.42, 4.0)], 0.6)
_SWAY_APART_M, _SWAY_OPEN_M, _SWAY_SHUT_M = 0.003, 0.0045, 0.0095

_TOES_OUT_DEG: Final = 8.0
_KNEE_SLACK: Final = 0.9965


class Romberg(Act):
    """Sways as a rigid column about the point between the ankles; the feet stay planted between the steps."""

    seconds: ClassVar = 48.0
    camera: ClassVar = Camera((0, 1.0, 4.3), (0, 0.885, 0), 1560, (0, 0.9, 0), 1.25)
    sky_look: ClassVar = SkyLook(96, 512, (0, 0.9, 0), 1.15)
    points: ClassVar = (
        "nose",
        *(
            f"{side}_{point}"
            for point in ("eye", "shoulder", "elbow", "wrist", "hip", "knee", "ankle", "foot_index")
            for side in ("left", "right")
        ),
    )
    digits: ClassVar = {
        "base_x_m": 4,
        "sway_hip_x_m": 5,
        "sway_hip_z_m": 5,
        "sway_shoulder_x_m": 5,
        "sway_shoulder_z_m": 5,
    }

    def __init__(self, people: dict[str, Person]) -> None:
        super().__init__(people)
        head = self.rig.head
        self._ankle_y, self._ankle_z = head["foot.L"][1:]
        self._hip = (head["upperleg01.L"] + head["upperleg01.R"]) / 2
        shoulder = (head["upperarm01.L"] + head["upperarm01.R"]) / 2
        self._rest_z = {"hip": self._hip[2] - self._ankle_z, "shoulder": shoulder[2] - self._ankle_z}

    def boxes(self) -> dict[str, Box]:
        """Return the room behind."""
        return ROOM_BEHIND

    def pose(self, time_s: float) -> Pose:
        """Return the pose: turned about the point between the ankles, legs bent to reach the feet."""
        ankles = self._ankles(time_s)
        base = (ankles["L"] + ankles["R"]) / 2
        size = self._sway_size(time_s)
        sideways, forward = size * sines(time_s, _SWAY_SIDEWAYS), size * sines(time_s, _SWAY_FORWARD)
        height = self._hip[1] - self._ankle_y
        turn = rotation(Z, -np.degrees(np.arcsin(sideways / height)))
        turn = turn @ rotation(X, np.degrees(np.arcsin(forward / height)))
        pivot = np.array([0, self._ankle_y, self._ankle_z])
        root = self.rig.head["root"]
        lowered = root + Y * (self._hip_height(ankles, base[0]) - height)
        offset = turn @ (lowered - pivot) + pivot + X * base[0] - root
        rotations = {"root": turn}
        hang_arms(self.rig, rotations, offset)
        for side, sign in (("L", 1), ("R", -1)):
            foot = rotation(Y, sign * _TOES_OUT_DEG)
            self.rig.bend_leg(rotations, offset, side, ankles[side], foot @ Z, foot)
        closed = self._closed(time_s)
        return Pose(rotations, offset, blink_units(closed, closed), columns={"base_x_m": float(base[0])})

    def readings(self, figure: Figure, places: dict[str, Array]) -> dict[str, float]:
        """Return how far hips and shoulders have swayed from upright above the point between the ankles."""
        base = between(places, "ankle")
        result = {}
        for point, rest_z in self._rest_z.items():
            away = between(places, point) - base
            result[f"sway_{point}_x_m"] = float(away[0])
            result[f"sway_{point}_z_m"] = float(away[2] - rest_z)
        return result

    def segments(self) -> list[Record]:
        """Return how he stands."""
        shut_from = _EYES_SHUT[0] + _SHUTTING_S
        return spans(
            {
                "feet_apart": (0.0, _LEFT_STEP[0]),
                "feet_together": (_RIGHT_STEP[1], _SIDE_STEP[0]),
                "eyes_open": (_RIGHT_STEP[1], _EYES_SHUT[0]),
                "eyes_shut": (shut_from, _EYES_SHUT[1]),
                "eyes_open_again": (_EYES_SHUT[1] + _OPENING_S, self.seconds),
                "stepped_aside": (_SIDE_STEP[1], self.seconds),
            }
        )

    def events(self) -> list[Record]:
        """Return the three steps."""
        steps = (("left", _LEFT_STEP), ("right", _RIGHT_STEP), ("right", _SIDE_STEP))
        return [
            {"kind": "foot_step", "side": side, "onset_s": onset, "offset_s": offset} for side, (onset, offset) in steps
        ]

    def plan(self) -> Record:
        """Return the sines of the sway and the sizes they are multiplied by."""
        sideways, forward = (
            [[hertz, round(size, 4), phase] for hertz, size, phase in parts]
            for parts in (_SWAY_SIDEWAYS, _SWAY_FORWARD)
        )
        return {
            "sway_hip_x_sines_hz_share_rad": sideways,
            "sway_hip_z_sines_hz_share_rad": forward,
            "sway_size_m": {"apart": _SWAY_APART_M, "eyes_open": _SWAY_OPEN_M, "eyes_shut": _SWAY_SHUT_M},
        }

    def _ankles(self, time_s: float) -> dict[str, Array]:
        left: Keys = [(_LEFT_STEP[0], _APART_X), (_LEFT_STEP[1], _TOGETHER_X)]
        right: Keys = [
            (_RIGHT_STEP[0], -_APART_X),
            (_RIGHT_STEP[1], -_TOGETHER_X),
            (_SIDE_STEP[0], -_TOGETHER_X),
            (_SIDE_STEP[1], -_STEPPED_X),
        ]
        left_lift = arc(time_s, *_LEFT_STEP)
        right_lift = arc(time_s, *_RIGHT_STEP) + arc(time_s, *_SIDE_STEP)
        return {
            side: np.array([keyed(time_s, keys), self._ankle_y + _LIFT_M * lift, self._ankle_z])
            for side, keys, lift in (("L", left, left_lift), ("R", right, right_lift))
        }

    def _sway_size(self, time_s: float) -> float:
        size = _SWAY_APART_M + (_SWAY_OPEN_M - _SWAY_APART_M) * ease((time_s - _RIGHT_STEP[1]) / 0.5)
        shut = ease((time_s - _EYES_SHUT[0] - _SHUTTING_S) / 1.0) * (1 - ease((time_s - _EYES_SHUT[1]) / 0.8))
        return size + (_SWAY_SHUT_M - _SWAY_OPEN_M) * shut

    def _closed(self, time_s: float) -> float:
        held = ease((time_s - _EYES_SHUT[0]) / _SHUTTING_S) * (1 - ease((time_s - _EYES_SHUT[1]) / _OPENING_S))
        return max(held, *(pulse(time_s, blink, blink + 0.12, 0.1) for blink in _BLINKS_S))

    def _hip_height(self, ankles: dict[str, Array], base_x: float) -> float:
        """Height of the hips above the ankles at which the leg that stands wider is almost straight."""
        spread = max(abs(ankles[side][0] - base_x - self.rig.head[f"upperleg01.{side}"][0]) for side in ("L", "R"))
        aside = np.hypot(spread, self._rest_z["hip"])
        return float(np.sqrt((_KNEE_SLACK * sum(self.rig.leg_lengths("L"))) ** 2 - aside**2))
