"""The clips of the studio: who does what, and how it is filmed. The most important ones come first."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from types import MappingProxyType
from typing import Any, Final

from .acts.company import Company, Laid, staying
from .acts.empty import Unseen
from .acts.helped import (
    HammerInHand,
    MimicInCompany,
    NeckInCompany,
    ShrugInCompany,
    StandingInCompany,
    SwayInCompany,
    Touched,
)
from .acts.jaw import Jaw
from .acts.jerks import Jerk
from .acts.leaving import Leaving
from .acts.lifeless import Dummy, DummyHead, Poster
from .acts.looking import Gaze, Lids
from .acts.mimic import Mimic, Strength
from .acts.neck import Neck
from .acts.played import Played
from .acts.pointing import Target
from .acts.shoulders import Shrug
from .acts.speaking import Voice
from .acts.standing import Standing, Sway
from .acts.touching import Touches
from .shooting import Shoot


@dataclass(frozen=True)
class Clip:
    """One clip of the studio.

    Parameters
    ----------
    kind
        The act.
    cast
        Role -> person of the cast; the ``person`` is the one who is measured.
    shoot
        How it is filmed.
    given
        Parameters of the act.
    """

    kind: type[Played]
    cast: Mapping[str, str]
    shoot: Shoot
    given: Mapping[str, Any]

    @property
    def person(self) -> str:
        """Who is measured."""
        return self.cast["person"]

    @property
    def about_s(self) -> float:
        """About how long the clip lasts, seconds."""
        return float(self.given.get("seconds", self.kind.usual_s))

    @property
    def act(self) -> partial[Played]:
        """The act with its parameters, to be given the people."""
        return partial(self.kind, **self.given)


def _clip(kind: type[Played], person: str, given: Mapping[str, Any], examiner: str = "", **shoot: Any) -> Clip:
    """Return a clip; what `shoot` does not say is even light, a tripod, and no noise, at the act's own size."""
    cast = {"person": person} | ({"examiner": examiner} if examiner else {})
    shoot.setdefault("size_px", kind.size_px)
    return Clip(kind, cast, Shoot(**shoot), given)


_PHONE: Final = {"phone": "hand", "noise": "phone"}

_OTHER_ORDER: Final = ("lips_pursed", "eyes_shut_tight", "smile", "frown", "brows_up")

_WEAK_LEFT: Final = {
    "smile": Strength(0.35, 1.0),
    "brows_up": Strength(0.4, 1.0),
    "eyes_shut_tight": Strength(0.85, 1.0),
    "frown": Strength(0.5, 1.0),
}
_WEAK_RIGHT: Final = {"smile": Strength(1.0, 0.5), "brows_up": Strength(1.0, 0.55)}

_LEFT: Final = {"azimuth_deg": 90.0}
_RIGHT: Final = {"azimuth_deg": -90.0}

_LEFT_BEFORE: Final = {"azimuth_deg": 72.0}
_LEFT_BEHIND: Final = {"azimuth_deg": 110.0}
_RIGHT_BEFORE: Final = {"azimuth_deg": -72.0}
"""A side view from a little before or behind the person, as people do film it."""


def _struck(joint: str, first_deg: float, second_deg: float, side: str = "left") -> dict[str, Any]:
    """Return the parameters of two taps in a short clip."""
    return {"joint": joint, "side": side, "taps": ((1.0, first_deg), (2.8, second_deg)), "seconds": 4.2}


_FULL_H: Final = {"aside_deg": 24.0}
_HALF_H: Final = {"order": ("left", "left_up", "left_down", "right"), "pace_deg_s": 30.0}

_STOOD: Final = {"recorded_s": 0.0, "seconds": 28.0}
_STOOD_LATER: Final = {"recorded_s": 30.0, "seconds": 28.0}

_ALL_WAYS: Final = (
    ("rotation_left", 50.0),
    ("rotation_right", 40.0),
    ("flexion", 50.0),
    ("extension", 27.0),
    ("side_bend_left", 20.0),
    ("side_bend_right", 32.0),
)

_PAIR: Final = {"size_px": (640, 640)}

_PASSES: Final = Company(
    way=(
        (0.0, -0.62, 0.05, 30.0),
        (3.4, -0.62, 0.05, 30.0),
        (4.2, -0.45, 0.75, 80.0),
        (5.2, 0.42, 0.78, 85.0),
        (6.2, 0.66, 0.10, -20.0),
        (7.0, 0.66, 0.05, -30.0),
    ),
    pointed_s=0.5,
)
"""Stands at the person's own right, passes before, and stands at the left."""

_GUARDS: Final = Company(
    way=staying(-0.58, -0.12, 62.0),
    hands={
        "L": Laid("upperarm01.R", (-0.14, -0.10, 0.22), 1.6, 99.0, (0.8, 0.1, -0.3), (0.3, 0.0, -1.0)),
        "R": Laid("upperarm01.R", (-0.10, -0.16, -0.24), 1.8, 99.0, (0.9, 0.1, 0.2), (0.0, 0.0, 1.0)),
    },
    pointed_s=0.5,
)
"""Stands close at the person's own right with both hands ready, one before and one behind the shoulder."""

_PRESSES: Final = Company(
    way=staying(0.0, -0.40, 0.0),
    hands={
        "L": Laid(
            "upperarm01.L", (-0.02, 0.075, 0.05), 0.9, 2.6, (0.1, -0.25, 1.0), (0.0, -1.0, -0.2), (0.8, 0.2, 0.0)
        ),
        "R": Laid(
            "upperarm01.R", (0.02, 0.075, 0.05), 0.9, 2.6, (-0.1, -0.25, 1.0), (0.0, -1.0, -0.2), (-0.8, 0.2, 0.0)
        ),
    },
    pointed_s=0.3,
)
"""Stands behind and lays both hands on the shoulders."""

_LOOKS_ON: Final = Company(way=staying(0.44, -0.55, -20.0))
"""Stands behind at the person's own left; nobody points."""

_REACHES_IN: Final = Company(
    way=staying(-0.52, 0.10, 70.0),
    hands={"L": Laid("head", (-0.135, 0.03, 0.04), 3.2, 5.0, (0.5, 0.3, -0.5), (0.8, 0.0, -0.3))},
    pointed_s=0.3,
)
"""Stands at the person's own right; a hand comes beside the face and goes away."""

_FACE_MEASURES: Final = ("gaze_sweep", "facial_movement", "jaw_opening", "eye_closure")

_ALL: Final[dict[str, Clip]] = {
    "face_p01": _clip(Mimic, "p01", {}),
    "stance_p07": _clip(Standing, "p07", {"stance_m": 0.12, "steps": [("left", 1.6, 0.20, 0.0)]}),
    "jaw_p02": _clip(Jaw, "p02", {"opening_mm": 38.0, "sideways_mm": [("left", 8.0), ("right", 8.0)]}),
    "neck_p04": _clip(
        Neck,
        "p04",
        {"ways": [("rotation_left", 60.0), ("rotation_right", 50.0), ("flexion", 45.0), ("extension", 35.0)]},
    ),
    "gaze_p03": _clip(Gaze, "p03", {"aside_deg": 20.0}, light="window"),
    "shrug_p06": _clip(Shrug, "p06", {"shrugs": ((60.0, 60.0), (0.0, 50.0))}),
    "face_p07": _clip(Mimic, "p07", {"order": _OTHER_ORDER, "weak": _WEAK_LEFT}, light="warm"),
    "jaw_p05": _clip(Jaw, "p05", {"opening_mm": 24.0, "sideways_mm": [("right", 5.0)]}, light="window"),
    "neck_p08": _clip(
        Neck,
        "p08",
        {"ways": [("extension", 30.0), ("side_bend_left", 35.0), ("side_bend_right", 25.0), ("rotation_left", 45.0)]},
        light="dim",
    ),
    "stance_p02": _clip(Standing, "p02", {"stance_m": 0.33, "seconds": 4.0}, **_PHONE),
    "gaze_p09": _clip(Gaze, "p09", {"order": ("right", "left", "left_up", "left_down"), "aside_deg": 22.0}, **_PHONE),
    "jaw_p10": _clip(
        Jaw, "p10", {"opening_mm": 44.0, "sideways_mm": [("left", 10.0), ("right", 6.0)]}, azimuth_deg=18.0
    ),
    "neck_p01": _clip(
        Neck,
        "p01",
        {
            "ways": [
                ("rotation_left", 35.0),
                ("rotation_right", 70.0),
                ("side_bend_left", 30.0),
                ("side_bend_right", 20.0),
            ],
            "trunk_share": 0.3,
        },
        azimuth_deg=-15.0,
    ),
    "shrug_p09": _clip(Shrug, "p09", {"shrugs": ((25.0, 25.0), (65.0, 65.0))}, azimuth_deg=20.0, light="warm"),
    "face_p04": _clip(Mimic, "p04", {"weak": _WEAK_RIGHT}, azimuth_deg=12.0, **_PHONE),
    "jaw_p06": _clip(Jaw, "p06", {"opening_mm": 31.0}, light="dim", noise="phone"),
    "neck_p03": _clip(
        Neck,
        "p03",
        {"ways": [("flexion", 35.0), ("extension", 40.0), ("side_bend_left", 25.0), ("side_bend_right", 40.0)]},
        **_PHONE,
    ),
    "stance_p05": _clip(
        Standing, "p05", {"stance_m": 0.26, "steps": [("right", 1.5, -0.24, 0.0), ("left", 3.2, 0.24, 0.0)]}
    ),
    "shrug_p01": _clip(Shrug, "p01", {"shrugs": ((45.0, 0.0), (50.0, 50.0))}, light="window"),
    "shrug_p05": _clip(Shrug, "p05", {"shrugs": ((40.0, 40.0),)}, azimuth_deg=-25.0, **_PHONE),
    "gaze_p07": _clip(Gaze, "p07", {"aside_deg": 16.0}, azimuth_deg=10.0),
    "face_p08": _clip(Mimic, "p08", {"order": ("brows_up", "smile", "lips_pursed")}, light="window"),
    "lids_p04": _clip(Lids, "p04", {}),
    "lids_p05": _clip(
        Lids, "p05", {"held": (0.9, 3.2), "blinks_s": (4.2,), "winks": (("left", 3.7, 4.0),)}, azimuth_deg=20.0
    ),
    "stance_p09": _clip(Standing, "p09", {"stance_m": 0.44, "seconds": 4.0}, azimuth_deg=10.0, light="dim"),
    "stance_p06": _clip(Standing, "p06", {"stance_m": 0.13, "seconds": 5.0, "shut": (0.8, 4.2)}, light="warm"),
    "gaze_head_p10": _clip(Gaze, "p10", {"aside_deg": 15.0, "head_share": 1.0, "order": ("right", "left", "left_up")}),
    "gaze_p02": _clip(
        Gaze, "p02", {"order": ("left", "left_up", "right", "right_down"), "aside_deg": 18.0}, light="warm"
    ),
    "jaw_p09": _clip(Jaw, "p09", {"opening_mm": 17.0, "sideways_mm": [("left", 6.0)]}, azimuth_deg=-12.0, **_PHONE),
    "lids_p09": _clip(Lids, "p09", {"held": (1.5, 3.9), "blinks_s": (0.7,)}, light="dim", **_PHONE),
    "lids_p08": _clip(
        Lids, "p08", {"held": (1.1, 2.4), "blinks_s": (0.6, 3.0, 3.6), "seconds": 4.4}, azimuth_deg=-15.0
    ),
    "knee_p02": _clip(Jerk, "p02", {"joint": "knee", "taps": ((1.2, 26.0), (3.2, 14.0))}, **_LEFT),
    "touch_p04": _clip(Touches, "p04", {}),
    "voice_p01": _clip(Voice, "p01", {}),
    "elbow_p07": _clip(Jerk, "p07", {"joint": "elbow", "taps": ((1.3, 20.0), (3.2, 10.0))}, **_LEFT),
    "target_p08": _clip(Target, "p08", _FULL_H, examiner="p07"),
    "ankle_p04": _clip(Jerk, "p04", {"joint": "ankle", "taps": ((1.2, 14.0), (3.1, 8.0))}, **_LEFT),
    "wrist_p09": _clip(Jerk, "p09", {"joint": "wrist", "taps": ((1.2, 16.0), (3.1, 9.0))}, **_LEFT),
    "sway_p01": _clip(Sway, "p01", {"stance_m": 0.14, "sway_m": 0.010, "seconds": 22.0, "shut": (10.0, 20.5)}),
    "knee_p09": _clip(
        Jerk, "p09", {"joint": "knee", "side": "right", "taps": ((1.3, 34.0), (3.3, 20.0))}, light="warm", **_RIGHT
    ),
    "touch_p01": _clip(
        Touches,
        "p01",
        {
            "order": ("right_cheek", "left_chin", "left_forehead", "right_chin", "left_cheek", "right_forehead"),
            "pauses_s": (0.7, 1.3, 0.6, 1.1, 0.8),
            "hand": "left",
        },
    ),
    "voice_p06": _clip(
        Voice,
        "p06",
        {"stretches": (("whispered", 0.9, 2.6, 16.0), ("voiced", 3.6, 6.2, 24.0)), "pitch_hz": 205.0},
    ),
    "elbow_p02": _clip(
        Jerk, "p02", {"joint": "elbow", "side": "right", "taps": ((1.2, 14.0), (3.1, 24.0))}, light="window", **_RIGHT
    ),
    "target_p06": _clip(Target, "p06", _HALF_H, examiner="p01", light="warm"),
    "ankle_p01": _clip(Jerk, "p01", {"joint": "ankle", "side": "right", "taps": ((1.2, 10.0), (3.2, 15.0))}, **_RIGHT),
    "wrist_p10": _clip(Jerk, "p10", {"joint": "wrist", "side": "right", "taps": ((1.4, 12.0), (3.2, 18.0))}, **_RIGHT),
    "knee_none_p04": _clip(Jerk, "p04", {"joint": "knee", "taps": ((1.2, 0.0), (2.7, 0.0)), "seconds": 4.0}, **_LEFT),
    "sway_x2_p06": _clip(Sway, "p06", {"stance_m": 0.13, "times": 2.0, **_STOOD}, light="window"),
    "sway_x4_p03": _clip(Sway, "p03", {"stance_m": 0.16, "times": 4.0, **_STOOD_LATER}, light="warm"),
    "sway_x8_p02": _clip(Sway, "p02", {"stance_m": 0.20, "times": 8.0, **_STOOD}),
    "sway_x1_p05": _clip(Sway, "p05", {"stance_m": 0.14, **_STOOD_LATER}),
    "sway_still_p04": _clip(Sway, "p04", {"stance_m": 0.14, "sway_m": 0.0, "seconds": 26.0}, noise="phone"),
    "touch_p07": _clip(
        Touches, "p07", {"order": ("left_forehead", "right_forehead", "left_cheek", "right_cheek")}, azimuth_deg=12.0
    ),
    "voice_p10": _clip(
        Voice,
        "p10",
        {"stretches": (("voiced", 1.0, 4.5, 30.0),), "seconds": 5.6, "pitch_hz": 190.0, "knocks_s": (5.0,)},
    ),
    "knee_p07": _clip(Jerk, "p07", {"joint": "knee", "taps": ((1.2, 11.0), (3.2, 30.0))}, light="dim", **_LEFT),
    "elbow_p09": _clip(Jerk, "p09", {"joint": "elbow", "taps": ((1.2, 8.5), (3.1, 16.0))}, noise="phone", **_LEFT),
    "ankle_p07": _clip(Jerk, "p07", {"joint": "ankle", "taps": ((1.3, 6.0), (3.1, 12.0))}, light="window", **_LEFT),
    "wrist_p04": _clip(Jerk, "p04", {"joint": "wrist", "taps": ((1.2, 10.0), (3.1, 20.0))}, light="warm", **_LEFT),
    "sway_p08": _clip(Sway, "p08", {"stance_m": 0.16, "sway_m": 0.020, "seconds": 20.0}, light="window"),
    "sway_x2_p09": _clip(Sway, "p09", {"stance_m": 0.12, "times": 2.0, **_STOOD_LATER}, azimuth_deg=8.0, noise="phone"),
    "target_p04": _clip(
        Target, "p04", {"order": ("right", "right_up", "right_down"), "aside_deg": 20.0}, examiner="p01"
    ),
    "touch_p09": _clip(
        Touches, "p09", {"pauses_s": (0.6, 1.2, 0.8, 1.4, 0.7), "hand": "left"}, light="window", noise="phone"
    ),
    "voice_p05": _clip(
        Voice, "p05", {"stretches": (("whispered", 1.0, 2.2, 18.0), ("whispered", 3.4, 4.8, 14.0)), "seconds": 6.0}
    ),
    "elbow_p01": _clip(Jerk, "p01", {"joint": "elbow", "taps": ((1.2, 0.0), (2.6, 18.0)), "seconds": 4.4}, **_LEFT),
    "ankle_p09": _clip(Jerk, "p09", {"joint": "ankle", "taps": ((1.2, 9.0),), "seconds": 3.4}, **_LEFT),
    "wrist_p07": _clip(Jerk, "p07", {"joint": "wrist", "taps": ((1.2, 14.0),), "seconds": 3.4}, **_LEFT),
    "ankle_p10": _clip(Jerk, "p10", _struck("ankle", 11.0, 16.0), **_LEFT),
    "elbow_p10": _clip(Jerk, "p10", _struck("elbow", 12.0, 22.0, "right"), light="warm", **_RIGHT),
    "neck_p02": _clip(Neck, "p02", {"ways": [("rotation_left", 55.0), ("rotation_right", 45.0)]}, azimuth_deg=22.0),
    "ankle_p06": _clip(Jerk, "p06", _struck("ankle", 13.0, 8.0, "right"), light="warm", **_RIGHT_BEFORE),
    "knee_p10": _clip(Jerk, "p10", _struck("knee", 18.0, 28.0, "right"), **_RIGHT_BEFORE),
    "elbow_p06": _clip(Jerk, "p06", _struck("elbow", 18.0, 11.0), **_LEFT_BEFORE),
    "neck_p05": _clip(
        Neck, "p05", {"ways": [("rotation_right", 60.0), ("rotation_left", 30.0)]}, azimuth_deg=-25.0, light="window"
    ),
    "ankle_p02": _clip(Jerk, "p02", _struck("ankle", 9.0, 14.0), **_LEFT_BEHIND),
    "knee_p05": _clip(Jerk, "p05", _struck("knee", 24.0, 12.0), light="warm", **_LEFT),
    "elbow_p05": _clip(Jerk, "p05", _struck("elbow", 15.0, 25.0), noise="phone", **_LEFT_BEHIND),
    "jaw_p01": _clip(Jaw, "p01", {"opening_mm": 28.0, "sideways_mm": [("left", 9.0), ("right", 7.0)]}, light="warm"),
    "neck_p06": _clip(
        Neck, "p06", {"ways": [("rotation_left", 40.0), ("flexion", 40.0), ("rotation_right", 65.0)]}, light="warm"
    ),
    "knee_p06": _clip(Jerk, "p06", _struck("knee", 16.0, 32.0), light="window", **_LEFT_BEHIND),
    "jaw_p07": _clip(
        Jaw, "p07", {"opening_mm": 35.0, "sideways_mm": [("right", 8.0), ("left", 5.0)]}, azimuth_deg=14.0
    ),
    "neck_p09": _clip(
        Neck, "p09", {"ways": [("rotation_right", 35.0), ("flexion", 30.0), ("rotation_left", 50.0)]}, azimuth_deg=15.0
    ),
    "wrist_p06": _clip(Jerk, "p06", _struck("wrist", 15.0, 10.0), **_LEFT),
    "nobody": _clip(
        Unseen,
        "p01",
        {
            "refusing": ("stance_width", "shoulder_elevation", "neck_rotation", "knee_jerk", *_FACE_MEASURES),
            "why": "nobody is there",
            "present": False,
            "seconds": 2.5,
        },
    ),
    "feet_out_p02": _clip(
        Unseen,
        "p02",
        {
            "refusing": ("stance_width", "base_of_support"),
            "why": "feet out of the picture",
            "look_at_y": 0.72,
            "covered": 0.75,
        },
    ),
    "behind_p04": _clip(Unseen, "p04", {"refusing": _FACE_MEASURES, "why": "seen from behind"}, azimuth_deg=180.0),
    "small_p03": _clip(
        Unseen,
        "p03",
        {"refusing": ("gaze_sweep", "jaw_opening"), "why": "face too small", "covered": 1.7},
        size_px=(360, 640),
    ),
    "knee_front_p01": _clip(
        Jerk, "p01", {"joint": "knee", "taps": ((1.2, 25.0),), "seconds": 3.4, "refuse": "seen from the front"}
    ),
    "sway_p07": _clip(Sway, "p07", {"stance_m": 0.28, "sway_m": 0.005, "seconds": 20.0}, **_PHONE),
    "sway_p10": _clip(Sway, "p10", {"stance_m": 0.15, "sway_m": 0.014, "seconds": 20.0}, azimuth_deg=8.0),
    "sway_x4_p10": _clip(Sway, "p10", {"stance_m": 0.15, "times": 4.0, **_STOOD}, azimuth_deg=8.0, **_PHONE),
    "neck_p07": _clip(Neck, "p07", {"ways": _ALL_WAYS}, light="warm"),
    "neck_p10": _clip(Neck, "p10", {"ways": _ALL_WAYS[::-1]}, azimuth_deg=20.0, **_PHONE),
    "target_p09": _clip(Target, "p09", {"order": ("left", "right", "right_up")}, examiner="p10", azimuth_deg=10.0),
    "pair_stance_p04": _clip(
        StandingInCompany,
        "p04",
        {"company": _PASSES, "stance_m": 0.16, "steps": [("left", 1.6, 0.24, 0.0)], "seconds": 8.0},
        examiner="p09",
        **_PAIR,
    ),
    "pair_sway_p10": _clip(
        SwayInCompany,
        "p10",
        {"company": _GUARDS, "stance_m": 0.13, "sway_m": 0.012, "seconds": 20.0, "shut": (6.0, 18.5)},
        examiner="p08",
        size_px=(480, 560),
    ),
    "pair_shrug_p08": _clip(
        ShrugInCompany, "p08", {"company": _PRESSES, "shrugs": ((40.0, 40.0), (50.0, 50.0))}, examiner="p05", **_PAIR
    ),
    "pair_neck_p02": _clip(
        NeckInCompany,
        "p02",
        {"company": _LOOKS_ON, "ways": [("rotation_left", 50.0), ("rotation_right", 45.0), ("side_bend_left", 25.0)]},
        examiner="p03",
    ),
    "pair_face_p09": _clip(MimicInCompany, "p09", {"company": _REACHES_IN}, examiner="p10"),
    "touched_p10": _clip(Touched, "p10", {}, examiner="p04"),
    "touched_p03": _clip(
        Touched,
        "p03",
        {"pauses_s": (0.7, 1.3, 0.8, 1.2, 0.7), "hand": "left"},
        examiner="p09",
        light="warm",
        noise="phone",
    ),
    "hammer_p01": _clip(
        HammerInHand, "p01", {"taps": ((1.3, 20.0), (3.2, 12.0))}, examiner="p06", size_px=(640, 512), **_LEFT
    ),
    "hammer_silent_p04": _clip(
        HammerInHand,
        "p04",
        {"taps": ((1.3, 16.0), (3.2, 24.0)), "heard": False},
        examiner="p10",
        size_px=(640, 512),
        light="window",
        **_LEFT,
    ),
    "leaves_p05": _clip(
        Leaving, "p05", {"company": Company(way=staying(0.50, 0.0, 0.0), pointed_s=0.5)}, examiner="p02", **_PAIR
    ),
    "dummy": _clip(Dummy, "dummy", {}, noise="phone"),
    "dummy_head": _clip(DummyHead, "dummy", {}, noise="phone"),
    "statue_p02": _clip(Dummy, "p02", {}),
    "poster_p04": _clip(Poster, "p04", {"made": (("mouthSmileLeft", 0.9), ("mouthSmileRight", 0.9))}, noise="phone"),
    "poster_hand_p01": _clip(Poster, "p01", {}, light="window", **_PHONE),
    "face_side_p03": _clip(Mimic, "p03", {"order": ("smile", "brows_up"), "refuse": "side view"}, azimuth_deg=80.0),
    "stance_side_p01": _clip(Standing, "p01", {"seconds": 3.0, "refuse": "side view"}, azimuth_deg=88.0),
}

CATALOGUE: Final[Mapping[str, Clip]] = MappingProxyType(_ALL)
"""All clips by name, the most important first."""
