"""The picture of an attempt: partner and examiner do what is spoken of, at the seconds of the timeline."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random
from typing import ClassVar, Final

import numpy as np

from ..acts.act import blink_units
from ..acts.company import Laid, lay_hand
from ..acts.looking import H_PATH, POSITIONS, lid_units
from ..acts.mimic import BOTH, added, movement_units
from ..acts.played import turned_head
from ..acts.scene import Record, Scene, spans
from ..camera import Camera
from ..casting import CAST
from ..figure import Pose
from ..gait import Foot, upright
from ..motion import arc, ease, keyed, pulse
from ..occlusion import SkyLook
from ..person import Person
from ..rig import Rotations
from ..room import ROOM_BEHIND, Box, bench
from ..rotations import Array, Y
from .timeline import Action, Timeline

FPS: Final = 10
SIZE_PX: Final = (640, 360)

_HIP_Y: Final = 0.80
_SEAT_Y: Final = _HIP_Y - 0.088
_HANGING_DEG: Final = 12.0
_JERK_DEG: Final = 22.0
_LATENCY_S: Final = 0.06
_RISING_S: Final = 1.2
_SHUTTING_S: Final = 0.2
_STAND: Final = ("stand", "stand_eyes_closed")
_SHUT: Final = ("eyes_closed", "stand_eyes_closed", "touch_face")
_FACES: Final = {"brows": "brows_up", "shut_tight": "eyes_shut_tight", "smile": "smile"}
_JAW: Final = "jaw"
_ASIDE_DEG: Final = 20.0
_HEAD_DEG: Final = 45.0
_BLINK_EVERY_S: Final = 3.7
_LEAD_STANDING_M: Final = 0.42
_EXAMINER_AT: Final = (-0.64, 0.0, 0.32)
_EXAMINER_DEG: Final = 115.0
_NEARER_M: Final = 0.2
"""How much nearer the examiner comes to strike a tendon."""

_LAID: Final[dict[str, tuple[str, tuple[float, float, float], str]]] = {
    "hand_to_eye": ("head", (-0.07, 0.09, 0.16), "L"),
    "touch_face": ("head", (-0.05, 0.02, 0.15), "L"),
    "touch_forehead": ("head", (0.0, 0.13, 0.14), "L"),
    "touch_ear": ("head", (-0.10, 0.06, 0.02), "L"),
    "hands_to_face": ("head", (-0.07, 0.03, 0.10), "L"),
    "gaze": ("head", (0.0, 0.07, 0.42), "L"),
    "converge": ("head", (0.0, 0.07, 0.30), "L"),
    "shrug": ("upperarm01.R", (-0.02, 0.06, 0.03), "L"),
    "tap_knee": ("lowerleg01.{}", (0.0, -0.02, 0.10), "R"),
    "tap_ankle": ("foot.{}", (0.0, 0.03, 0.08), "R"),
    "tap_arm": ("lowerarm01.{}", (0.0, 0.05, 0.06), "R"),
    "tap_wrist": ("wrist.{}", (0.0, 0.05, 0.03), "R"),
}
"""Action -> the partner's joint to which a hand of the examiner goes, where beside it, and which hand."""


class PlayedAttempt(Scene):
    """A partner on a bench, who stands up for the balance tests, and an examiner who stands beside and reaches over.

    Parameters
    ----------
    timeline
        What is done, and when.
    """

    looks: ClassVar = {"partner": CAST["p01"], "examiner": CAST["p02"]}
    fps: ClassVar = FPS
    camera: ClassVar = Camera((0.10, 1.15, 3.6), (-0.12, 0.89, 0.0), 580, (0, 0.9, 0), 1.8, SIZE_PX)
    sky_look: ClassVar = SkyLook(24, 256, (0, 0.9, 0), 1.15)
    crf: ClassVar = 27
    hair: ClassVar = 900
    thinnest_strand_px: ClassVar = 0.62
    points: ClassVar = ("nose",)

    def __init__(self, people: dict[str, Person], timeline: Timeline) -> None:
        super().__init__(people)
        self.seconds = timeline.seconds
        self._timeline, self._actions = timeline, timeline.actions
        self._rigs = {name: person.body.rig for name, person in people.items()}
        self._standing_keys = standing_keys(timeline)

    def boxes(self) -> dict[str, Box]:
        """Return the room and the bench."""
        return {**ROOM_BEHIND, **bench(_SEAT_Y)}

    def segments(self) -> list[Record]:
        """Return the visits."""
        return spans(
            {f"{number}": (placed.onset_s, placed.offset_s) for number, placed in enumerate(self._timeline.visits)}
        )

    def baking_poses(self) -> dict[str, Pose]:
        """Return both upright in the middle of the room."""
        return {name: Pose(*self._upright(name, np.zeros(3), 0.0)) for name in self.people}

    def poses(self, time_s: float) -> dict[str, Pose]:
        """Return the pose of the partner and of the examiner."""
        partner = self._partner(time_s)
        return {"partner": partner, "examiner": self._examiner(time_s, partner)}

    def _partner(self, time_s: float) -> Pose:
        standing = keyed(time_s, self._standing_keys)
        rotations, offset = self._seated_or_up(standing, time_s)
        gaze = self._gaze(time_s)
        rotations |= turned_head(self._turned(time_s))
        shut = max((_during(action, time_s) for action in self._actions if action.kind in _SHUT), default=0.0)
        blink = arc((time_s + 0.9) % _BLINK_EVERY_S, 0.0, 0.3)
        parts = [lid_units(side, max(shut, blink), gaze[1]) for side in ("Left", "Right")]
        for action in self._actions:
            made = _during(action, time_s)
            if made and action.kind in _FACES:
                parts.append(movement_units(_FACES[action.kind], made, BOTH))
            if made and action.kind == _JAW:
                parts.append({"jawOpen": 0.7 * made})
        parts.append({"jawOpen": self._talking("partner", time_s)})
        return Pose(rotations, offset, added(*parts), gaze)

    def _seated_or_up(self, standing: float, time_s: float) -> tuple[Rotations, Array]:
        """Return legs, arms and place of somebody who sits (0), stands (1) or is on the way."""
        rig = self._rigs["partner"]
        up, up_offset = self._upright("partner", Y * 0 + np.array([0.0, 0.0, _LEAD_STANDING_M]), 0.0)
        if standing >= 1:
            return up, up_offset
        seat = Y * (_HIP_Y - rig.head["upperleg01.L"][1])
        offset = seat + (up_offset - seat) * standing
        rotations: Rotations = {}
        for letter, sign in (("L", 1), ("R", -1)):
            flexed = np.deg2rad(_HANGING_DEG - kicked_deg(self._actions, time_s, letter)) * (1 - standing)
            raised = np.deg2rad(90 * (1 - standing))
            thigh = (sign * 0.10 * (1 - standing), -np.cos(raised) - 0.06, np.sin(raised) + 1e-3)
            rig.hang_leg(rotations, letter, thigh, (sign * 0.02, -np.cos(flexed), -np.sin(flexed)))
            fore = (-sign * 0.06, -0.37 - 0.6 * standing, 0.93 * (1 - standing) + 0.12)
            rig.point_arm(rotations, offset, letter, (sign * 0.20, -1, 0.0), fore)
        return rotations, offset

    def _gaze(self, time_s: float) -> tuple[float, float]:
        for action in self._actions:
            if action.kind == "gaze" and action.onset_s <= time_s <= action.offset_s:
                yaw, pitch = (keyed(time_s, gaze_keys(action, axis)) for axis in (0, 1))
                return yaw, pitch
        return 0.0, 0.0

    def _turned(self, time_s: float) -> float:
        turned = [
            (1 if action.side == "left" else -1) * _HEAD_DEG * _during(action, time_s, 0.5)
            for action in self._actions
            if action.kind == "head_turn"
        ]
        return sum(turned)

    def _examiner(self, time_s: float, partner: Pose) -> Pose:
        rig = self._rigs["examiner"]
        ahead = _LEAD_STANDING_M * keyed(time_s, self._standing_keys)
        near = max((_during(a, time_s, 0.8) for a in self._actions if a.kind.startswith("tap_")), default=0.0)
        place = np.array(_EXAMINER_AT) + np.array([_NEARER_M * near, 0.0, ahead])
        rotations, offset = self._upright("examiner", place, _EXAMINER_DEG)
        bones = self._rigs["partner"].pose(partner.rotations, partner.offset)
        for action in self._actions:
            share = _during(action, time_s, 0.5)
            if share and action.kind in _LAID:
                bone, beside, letter = _LAID[action.kind]
                joint = self._rigs["partner"].joint(bones, bone.format(_letter(action)))
                tip = joint + np.array(beside) + self._follows(action, time_s)
                laid = Laid(bone, beside, 0.0, 0.0, (0.8, 0.2, -0.5), (0.2, -0.9, -0.3))
                lay_hand(rig, rotations, offset, letter, tip, laid, share)
        closed = arc((time_s + 2.1) % _BLINK_EVERY_S, 0.0, 0.3)
        units = added(blink_units(closed, closed), {"jawOpen": self._talking("examiner", time_s)})
        return Pose(rotations, offset, units)

    def _follows(self, action: Action, time_s: float) -> Array:
        """Return how far the hand is from its place: a finger that leads the eyes, a tap that strikes."""
        if action.kind == "gaze":
            yaw, pitch = (np.deg2rad(keyed(time_s, gaze_keys(action, axis))) for axis in (0, 1))
            return np.array([0.42 * np.sin(yaw), 0.42 * np.sin(pitch), 0.0])
        away = min((abs(time_s - tap) for tap in action.taps_s), default=0.0)
        return np.array([0.0, 0.10, 0.06]) * ease(away / 0.28)

    def _talking(self, speaker: str, time_s: float) -> float:
        """How far the jaw is open for a word: open within each, shut between."""
        for utterance in self._timeline.utterances:
            if utterance.line.speaker == speaker and utterance.onset_s <= time_s <= utterance.offset_s:
                return 0.16 * max((arc(time_s, word.onset_s, word.offset_s) for word in utterance.words), default=0.0)
        return 0.0

    def _upright(self, name: str, place: Array, facing_deg: float) -> tuple[Rotations, Array]:
        rig = self._rigs[name]
        height = float(rig.head["foot.L"][1])
        turn = np.deg2rad(facing_deg)
        across = np.array([np.cos(turn), 0.0, -np.sin(turn)])
        feet = {
            side: Foot(place + sign * 0.06 * across + height * Y, facing_deg) for side, sign in (("L", 1), ("R", -1))
        }
        return upright(rig, place, facing_deg, feet)


def _during(action: Action, time_s: float, ramp_s: float = _SHUTTING_S) -> float:
    """Return 0 outside of an action, 1 within, with ramps at both ends."""
    return pulse(time_s, action.onset_s - ramp_s / 2, action.offset_s - ramp_s / 2, ramp_s)


def gaze_keys(action: Action, axis: int) -> list[tuple[float, float]]:
    """Return the way of the eyes through the six positions within an action, in degrees."""
    step_s = (action.offset_s - action.onset_s) / (len(H_PATH) + 1)
    keys: list[tuple[float, float]] = [(action.onset_s, 0.0)]
    for number, name in enumerate(H_PATH):
        reached = action.onset_s + (number + 0.35) * step_s
        value = _ASIDE_DEG * POSITIONS[name][axis]
        keys += [(reached, value), (reached + 0.6 * step_s, value)]
    return [*keys, (action.offset_s, 0.0)]


def standing_keys(timeline: Timeline) -> Sequence[tuple[float, float]]:
    """Return when the partner sits (0) and stands (1): up for each run of balance tests, down after it."""
    keys: list[tuple[float, float]] = [(0.0, 0.0)]
    upright_visits = {action.visit for action in timeline.actions if action.kind in _STAND}
    for number, placed in enumerate(timeline.visits):
        now = 1.0 if number in upright_visits else 0.0
        if now == keys[-1][1]:
            continue
        start = placed.onset_s
        keys += [(max(start, keys[-1][0] + 0.01), 1.0 - now), (max(start, keys[-1][0] + 0.01) + _RISING_S, now)]
    return keys


def kicked_deg(actions: Sequence[Action], time_s: float, letter: str) -> float:
    """Return how far the shin of the left (``L``) or right (``R``) leg is kicked forward after taps, degrees."""
    total = 0.0
    for action in actions:
        mine = action.kind == "tap_knee" and _letter(action) == letter
        for tap in action.taps_s if mine else ():
            since = time_s - tap - _LATENCY_S
            if since > 0:
                wave = np.cos(2 * np.pi * 0.95 * max(since - 0.15, 0.0))
                total += _JERK_DEG * ease(since / 0.15) * np.exp(-max(since - 0.15, 0.0) / 0.38) * wave
    return float(total)


def players(seed: int) -> dict[str, str]:
    """Return who of the cast plays partner and examiner, two different people."""
    partner, examiner = Random(f"people {seed}").sample(sorted(CAST), 2)
    return {"partner": partner, "examiner": examiner}


def _letter(action: Action) -> str:
    return (action.side or "left")[0].upper()
