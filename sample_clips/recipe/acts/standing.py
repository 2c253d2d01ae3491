"""Standing: feet apart or together, a step or a widening, sway of the whole body."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, ClassVar, Final

import numpy as np
from scipy.signal import butter, sosfiltfilt

from ..checks import Columns, happening, must_read, must_refuse, span_of
from ..figure import Figure, Pose
from ..gait import hang_arms
from ..motion import Sines, arc, ease, keyed, sines, with_rms
from ..person import Person
from ..recorded import stood
from ..rotations import Array, X, Y, Z, rotation
from .act import apart, between, blink_units
from .played import WholeBody
from .scene import Record

_TOES_OUT_DEG: Final = 8.0
_KNEE_SLACK: Final = 0.9965
_LIFT_M: Final = 0.04
STEP_S: Final = 0.45
_LONG_S: Final = 10.0
_BLINK_EVERY_S: Final = 3.6
"""Whoever stands for long with open eyes blinks now and then, as somebody alive does."""

_SIDEWAYS: Final[Sines] = with_rms([(0.17, 1.0, 0.4), (0.31, 0.62, 1.3), (0.53, 0.38, 2.6)], 1.0)
_FORWARD: Final[Sines] = with_rms([(0.14, 1.0, 2.1), (0.28, 0.58, 0.2), (0.47, 0.42, 4.0)], 0.6)

_TOGETHER_BELOW: Final = 0.45
"""Ratio of stance to shoulders below which the feet count as together."""


class Standing(WholeBody):
    """Stands with straight legs; sways as a rigid column about the point between the ankles; a foot may step.

    Parameters
    ----------
    stance_m
        Distance of the ankle joints.
    steps
        Side, onset in seconds, and where the ankle is put: metres to the own left from the middle, metres forward.
    sway_m
        Root mean square of the sideways sway of the hips.
    shut
        Onset and offset of shut eyes; none if empty.
    seconds
        Length.
    facing_deg
        To where the person faces (180: away from the camera), instead of moving the camera.
    refuse
        Why no measure of stance may give a number, if the clip is such a one.
    """

    digits: ClassVar = {
        "left_ankle_x_m": 4,
        "right_ankle_x_m": 4,
        "sway_shoulder_x_m": 5,
        "sway_hip_x_m": 5,
    }

    def __init__(
        self,
        people: dict[str, Person],
        stance_m: float = 0.30,
        steps: Sequence[tuple[str, float, float, float]] = (),
        sway_m: float = 0.002,
        shut: tuple[float, ...] = (),
        seconds: float = 5.0,
        refuse: str = "",
    ) -> None:
        self._stance_m, self._steps, self._sway_m = stance_m, steps, sway_m
        self._shut, self._refuse = shut, refuse
        super().__init__(people, seconds)
        head = self.rig.head
        self._ankle_y, self._ankle_z = head["foot.L"][1:]
        self._hip = (head["upperleg01.L"] + head["upperleg01.R"]) / 2

    def pose(self, time_s: float) -> Pose:
        """Return the pose: turned about the point between the ankles, legs bent to reach the feet."""
        ankles = self._ankles(time_s)
        base = (ankles["L"] + ankles["R"]) / 2
        sideways, forward = self.swayed(time_s)
        height = self._hip[1] - self._ankle_y
        turn = rotation(Z, -np.degrees(np.arcsin(sideways / height)))
        turn = turn @ rotation(X, np.degrees(np.arcsin(forward / height)))
        pivot = np.array([0, self._ankle_y, self._ankle_z])
        root = self.rig.head["root"]
        aside = base * np.array([1.0, 0, 1.0]) - np.array([0, 0, self._ankle_z])
        lowered = root + Y * (self._hip_height(ankles, base) - height)
        offset = turn @ (lowered - pivot) + pivot + aside - root
        rotations = {"root": turn}
        hang_arms(self.rig, rotations, offset)
        for side, sign in (("L", 1), ("R", -1)):
            foot = rotation(Y, sign * _TOES_OUT_DEG)
            self.rig.bend_leg(rotations, offset, side, ankles[side], foot @ Z, foot)
        closed = self._closed(time_s)
        return Pose(rotations, offset, blink_units(closed, closed))

    def swayed(self, time_s: float) -> tuple[float, float]:
        """Return how far the hips are from above the ankles: metres to the own left and forward."""
        return self._sway_m * sines(time_s, _SIDEWAYS), self._sway_m * sines(time_s, _FORWARD)

    def readings(self, figure: Figure, places: dict[str, Array]) -> dict[str, float]:
        """Return where the ankles are, and how far hips and shoulders are aside of their middle."""
        base = between(places, "ankle")
        found = {f"{side}_ankle_x_m": float(places[f"{side}_ankle"][0]) for side in ("left", "right")}
        for point in ("shoulder", "hip"):
            found[f"sway_{point}_x_m"] = float((between(places, point) - base)[0])
        return found | {"stance_m": apart(places, "ankle")}

    def checks(self, columns: Columns) -> list[Record]:
        """Return stance, steps and sway as the clip holds them."""
        span = span_of(columns["time_s"])
        if self._refuse:
            return [must_refuse(name, span, self._refuse) for name in ("stance_width", "base_of_support")]
        result = [
            must_read(
                "base_of_support",
                span,
                len(self._steps),
                events=[happening("step", start, side) for side, start, _, _ in self._steps],
            )
        ]
        if not self._steps:
            result += _stance_checks(columns, span)
        if self.seconds >= 15:
            result += self._sway_checks(columns, span)
        if self._shut:
            result += self._shut_checks(columns, span)
        return result

    def events(self) -> list[Record]:
        """Return the steps."""
        return [
            {"kind": "foot_step", "side": side, "onset_s": start, "offset_s": round(start + STEP_S, 3)}
            for side, start, _, _ in self._steps
        ]

    def plan(self) -> Record:
        """Return the size of the sway."""
        return {"sway_m": self._sway_m, "stance_m": self._stance_m}

    def _sway_checks(self, columns: Columns, span: tuple[float, float]) -> list[Record]:
        """Root mean square, range and velocity of the shoulders' way sideways; a motionless person gives none."""
        if self._sway_m == 0:
            why = "nobody sways: below the noise"
            return [must_refuse(f"{name}_mm", span, why) for name in ("postural_sway", "sway_range", "sway_velocity")]
        way = columns["sway_shoulder_x_m"] - columns["sway_shoulder_x_m"].mean()
        slow = _slow(way, self.fps)
        sizes = {
            "postural_sway": float(np.sqrt((way**2).mean())),
            "sway_range": float(np.ptp(way)),
            "sway_velocity": float(np.abs(np.diff(slow)).sum() / (columns["time_s"][-1] - columns["time_s"][0])),
        }
        height = self.person.height_m
        return [
            check
            for name, size in sizes.items()
            for check in (
                must_read(f"{name}_mm", span, 1000 * size),
                must_read(name, span, 100 * size / height),
            )
        ]

    def _shut_checks(self, columns: Columns, span: tuple[float, float]) -> list[Record]:
        times, shut = columns["time_s"], columns["closed_left"] > 0.5
        length = float(times[shut][-1] - times[shut][0])
        result = [must_read("eye_closure", span, length, side=side) for side in ("left", "right")]
        if _ratio(columns) < _TOGETHER_BELOW:
            result.append(must_read("hold_time", span, length))
        return result

    def _ankles(self, time_s: float) -> dict[str, Array]:
        result = {}
        for letter, name, sign in (("L", "left", 1), ("R", "right", -1)):
            x, z, lift = [(0.0, sign * self._stance_m / 2)], [(0.0, 0.0)], 0.0
            for side, start, to_x, to_z in self._steps:
                if side == name:
                    x += [(start, x[-1][1]), (start + STEP_S, to_x)]
                    z += [(start, z[-1][1]), (start + STEP_S, to_z)]
                    lift += arc(time_s, start, start + STEP_S)
            place = [keyed(time_s, x), self._ankle_y + _LIFT_M * lift, self._ankle_z + keyed(time_s, z)]
            result[letter] = np.array(place)
        return result

    def _closed(self, time_s: float) -> float:
        if not self._shut:
            return arc(time_s % _BLINK_EVERY_S, 1.6, 1.85) if self.seconds >= _LONG_S else 0.0
        start, end = self._shut
        return ease((time_s - start) / 0.3) * (1 - ease((time_s - end) / 0.3))

    def _hip_height(self, ankles: dict[str, Array], base: Array) -> float:
        """Height of the hips above the ankles at which the leg that reaches farther is almost straight."""
        reach = _KNEE_SLACK * sum(self.rig.leg_lengths("L"))
        heights = []
        for side in ("L", "R"):
            hip = self.rig.head[f"upperleg01.{side}"]
            across = ankles[side][0] - base[0] - hip[0]
            along = ankles[side][2] - base[2] - (hip[2] - self._ankle_z)
            heights.append(np.sqrt(max(reach**2 - across**2 - along**2, 0.01)))
        return float(min(heights))


class Sway(Standing):
    """Stands for long and sways, with half the usual frames a second: by sines, or as a real person stood.

    Parameters
    ----------
    recorded_s
        Where in the record of a real person's standing (`recorded.stood`) the clip begins; its sway then takes the
        place of the sines. It is that of the centre of gravity, here of the hips, which are about as high.
    times
        By how much the record is multiplied, sideways and forward alike; 1 as it was.
    """

    fps: ClassVar = 15
    size_px: ClassVar = (360, 640)

    def __init__(
        self, people: dict[str, Person], recorded_s: float | None = None, times: float = 1.0, **given: Any
    ) -> None:
        self._recorded_s, self._times = recorded_s, times
        super().__init__(people, **given)

    def swayed(self, time_s: float) -> tuple[float, float]:
        """Return how far the hips are from above the ankles, by the record if there is one."""
        if self._recorded_s is None:
            return super().swayed(time_s)
        left, forward = stood(self._recorded_s + time_s)
        return self._times * left, self._times * forward

    def plan(self) -> Record:
        """Return the size of the sway, or what of the record is played."""
        if self._recorded_s is None:
            return super().plan()
        return {"recorded_from_s": self._recorded_s, "times": self._times, "stance_m": self._stance_m}


def _slow(way: Array, frames_per_second: int) -> Array:
    """Return what of a way is slower than 1 Hz, as the velocity of sway is defined: half of the power passes there."""
    passing_hz = 1.0 / (np.sqrt(2) - 1) ** 0.25
    sections = butter(2, passing_hz, fs=frames_per_second, output="sos")
    return np.asarray(sosfiltfilt(sections, way, padlen=2 * frames_per_second))


def _ratio(columns: Columns) -> float:
    return float(np.median(columns["stance_m"]) / np.median(columns["shoulder_width_m"]))


def _stance_checks(columns: Columns, span: tuple[float, float]) -> list[Record]:
    return [
        must_read("stance_width", span, _ratio(columns)),
        must_read("stance_width_mm", span, 1000 * float(np.median(columns["stance_m"]))),
    ]
