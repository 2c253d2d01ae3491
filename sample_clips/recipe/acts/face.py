"""A close-up: gaze, lids, expressions, turns and bends of the head."""

from __future__ import annotations

from typing import ClassVar, Final

from ..camera import Camera
from ..figure import Pose
from ..gait import hang_arms
from ..motion import keyed, pulse
from ..occlusion import SkyLook
from ..room import ROOM_BEHIND, Box
from ..rotations import Y, Z, rotation
from .act import Act
from .scene import Record, spans

_POSITIONS: Final = {
    "right": (-20.0, 0.0),
    "right_up": (-20.0, 13.0),
    "right_down": (-20.0, -18.0),
    "left": (20.0, 0.0),
    "left_up": (20.0, 13.0),
    "left_down": (20.0, -18.0),
}
"""Yaw and pitch of the gaze in the six cardinal positions, degrees."""

_FIRST_GAZE_S: Final = 1.0
_MOVING_S: Final = 0.25
_GAZE_S: Final = 1.25
_BACK_S: Final = _FIRST_GAZE_S + len(_POSITIONS) * _GAZE_S

_BLINKS_S: Final = (0.4, 8.95)
_BLINK_S: Final = 0.12
_BLINK_RAMP_S: Final = 0.09
_SHUT_TIGHT: Final = (9.4, 10.8)
_WINKS: Final = {"left": (11.1, 11.5), "right": (11.8, 12.2)}
_SMILE: Final = (12.5, 13.5)
_BROWS_UP: Final = (13.8, 14.6)
_RAMP_S: Final = 0.2
_WINK_RAMP_S: Final = 0.12

_YAW: Final = [(14.8, 0.0), (15.25, 30.0), (15.5, 30.0), (16.0, -30.0), (16.25, -30.0), (16.65, 0.0)]
_ROLL: Final = [(16.65, 0.0), (17.0, 15.0), (17.2, 15.0), (17.65, -15.0), (17.85, -15.0), (18.2, 0.0)]
_NECK_SHARES: Final = {"neck01": 0.2, "neck02": 0.2, "neck03": 0.2, "head": 0.4}


class Face(Act):
    """Each lid is its own: blinks and a held closure of both, then a wink of each."""

    seconds: ClassVar = 18.4
    camera: ClassVar = Camera((0, 1.63, 1.25), (0, 1.605, 0.1), 1900, (0, 1.6, 0.05), 0.40)
    sky_look: ClassVar = SkyLook(128, 768, (0, 1.5, 0), 0.55)
    fine_head: ClassVar = True
    hair: ClassVar = 10000
    thinnest_strand_px: ClassVar = 0.33
    points: ClassVar = (
        "nose",
        *(
            f"{side}_{point}"
            for point in ("eye", "iris", "eye_inner", "eye_outer", "upper_lid", "lower_lid", "shoulder")
            for side in ("left", "right")
        ),
    )
    movements: ClassVar = ("smile", "brows_up", "shut_tight")
    digits: ClassVar = dict.fromkeys(movements, 3)

    def boxes(self) -> dict[str, Box]:
        """Return the room behind."""
        return ROOM_BEHIND

    def pose(self, time_s: float) -> Pose:
        """Return the pose: the neck shares turn and bend, the lids follow the gaze."""
        gaze = tuple(keyed(time_s, _gaze_keys(axis)) for axis in (0, 1))
        tight = pulse(time_s, *_SHUT_TIGHT, _RAMP_S)
        smile, brows = pulse(time_s, *_SMILE, 0.25), pulse(time_s, *_BROWS_UP, _RAMP_S)
        units = {"browInnerUp": brows, "jawOpen": 0.06 * smile}
        for side in ("left", "right"):
            units |= _eye_units(side.capitalize(), _closed(time_s, side), gaze[1], brows)
            units |= _cheek_units(side.capitalize(), tight, smile, brows, pulse(time_s, *_WINKS[side], _WINK_RAMP_S))
        yaw, roll = keyed(time_s, _YAW), keyed(time_s, _ROLL)
        rotations = {
            bone: rotation(Z, -roll * share) @ rotation(Y, yaw * share) for bone, share in _NECK_SHARES.items()
        }
        offset = 0 * Y
        hang_arms(self.rig, rotations, offset)
        return Pose(rotations, offset, units, gaze, {"smile": smile, "brows_up": brows, "shut_tight": tight})

    def segments(self) -> list[Record]:
        """Return what is done when; a gaze's span is its hold, a movement's the time from its first to last sign."""
        named = {"gaze_centre": (0.0, _FIRST_GAZE_S)}
        named |= {f"gaze_{name}": hold for name, hold in _holds().items()}
        named["gaze_centre_again"] = (_BACK_S + _MOVING_S, self.seconds)
        named["shut_tight"] = (_SHUT_TIGHT[0], _SHUT_TIGHT[1] + _RAMP_S)
        named |= {f"wink_{side}": (onset, offset + _WINK_RAMP_S) for side, (onset, offset) in _WINKS.items()}
        named |= {"smile": (_SMILE[0], _SMILE[1] + 0.25), "brows_up": (_BROWS_UP[0], _BROWS_UP[1] + _RAMP_S)}
        named |= _head_holds()
        return spans(named)

    def events(self) -> list[Record]:
        """Return the gaze positions."""
        return [
            {
                "kind": "gaze_hold",
                "position": name,
                "onset_s": onset,
                "offset_s": offset,
                "yaw_deg": _POSITIONS[name][0],
                "pitch_deg": _POSITIONS[name][1],
            }
            for name, (onset, offset) in _holds().items()
        ]


def _holds() -> dict[str, tuple[float, float]]:
    starts = [_FIRST_GAZE_S + i * _GAZE_S for i in range(len(_POSITIONS))]
    return {name: (start + _MOVING_S, start + _GAZE_S) for name, start in zip(_POSITIONS, starts, strict=True)}


def _head_holds() -> dict[str, tuple[float, float]]:
    (_, *yaw, _), (_, *roll, _) = _YAW, _ROLL
    times = [(keys[i][0], keys[i + 1][0]) for keys in (yaw, roll) for i in (0, 2)]
    return dict(zip(("head_left", "head_right", "bend_left", "bend_right"), times, strict=True))


def _gaze_keys(axis: int) -> list[tuple[float, float]]:
    keys = [(_FIRST_GAZE_S, 0.0)]
    for name, (onset, offset) in _holds().items():
        keys += [(onset, _POSITIONS[name][axis]), (offset, _POSITIONS[name][axis])]
    return [*keys, (_BACK_S + _MOVING_S, 0.0)]


def _closed(time_s: float, side: str) -> float:
    blinks = (pulse(time_s, blink, blink + _BLINK_S, _BLINK_RAMP_S) for blink in _BLINKS_S)
    held = pulse(time_s, *_SHUT_TIGHT, _RAMP_S)
    wink = pulse(time_s, *_WINKS[side], _WINK_RAMP_S)
    return max(*blinks, held, wink)


def _eye_units(side: str, closed: float, pitch_deg: float, brows: float) -> dict[str, float]:
    """Lids of one eye; a negative weight of looking up lowers the lower lid when the gaze goes down."""
    down, up = (max(sign * pitch_deg / 15, 0) * (1 - closed) for sign in (-1, 1))
    return {
        f"eyeBlink{side}": closed,
        f"eyeLookDown{side}": 0.4 * down,
        f"eyeLookUp{side}": 0.2 * up - 1.2 * down,
        f"eyeWide{side}": 0.5 * brows + 0.7 * up,
    }


def _cheek_units(side: str, tight: float, smile: float, brows: float, wink: float) -> dict[str, float]:
    return {
        f"eyeSquint{side}": 0.8 * tight + 0.3 * smile + 0.4 * wink,
        f"cheekSquint{side}": 0.9 * tight + 0.4 * smile + 0.4 * wink,
        f"browDown{side}": 0.9 * tight,
        f"noseSneer{side}": 0.4 * tight,
        f"mouthSmile{side}": smile,
        f"browOuterUp{side}": brows,
    }
