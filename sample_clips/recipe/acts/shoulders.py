"""Shrugs: one or both shoulders raised and held."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar, Final

import numpy as np

from ..camera import Camera
from ..checks import Columns, happening, must_read, onset, rest, span_of
from ..figure import Figure, Pose
from ..gait import hang_arms
from ..motion import keyed
from ..person import Person
from ..rotations import Array, Y, Z, rotation
from .act import between, blink_units
from .played import REST_S, WholeBody, in_front
from .scene import Record

_RAMP_S: Final = 0.4
_HOLD_S: Final = 0.7
_ONSET_SHARE: Final = 0.25
"""Part of the rise at which a shrug counts as begun."""


class Shrug(WholeBody):
    """Raises the shoulders by turning the collar bones about their inner ends; the arms go along.

    Parameters
    ----------
    shrugs
        Millimetres by which the left and the right shoulder rise, one pair a shrug.
    """

    size_px: ClassVar = (480, 640)
    points: ClassVar = (
        "nose",
        *(f"{side}_{point}" for point in ("eye", "shoulder", "elbow", "wrist", "hip") for side in ("left", "right")),
    )
    digits: ClassVar = {"rise_left": 4, "rise_right": 4}

    def __init__(self, people: dict[str, Person], shrugs: Sequence[tuple[float, float]] = ((60.0, 60.0),)) -> None:
        self._shrugs = shrugs
        super().__init__(people, round(2 * REST_S + len(shrugs) * (2 * _RAMP_S + _HOLD_S), 2))
        head = self.rig.head
        self._trunk_m = float(np.linalg.norm(_middle(head, "upperarm01") - _middle(head, "upperleg01")))
        self._rest_y = {side: float(head[f"upperarm01.{side}"][1]) for side in "LR"}

    def placed_camera(self) -> Camera:
        """Return the camera at the height of the chest, far enough to show hips and head."""
        height = self.person.height_m
        return in_front((0.0, height * 0.72, 0.0), 2.6, height * 0.70, self.size_px, 1.0)

    def pose(self, time_s: float) -> Pose:
        """Return the pose: collar bones turned, arms hanging."""
        rotations = {}
        for i, side in enumerate("LR"):
            start = self.rig.head[f"clavicle.{side}"]
            lever = float(abs(self.rig.head[f"upperarm01.{side}"][0] - start[0]))
            rise = sum(size[i] / 1000 * _held(time_s, j) for j, size in enumerate(self._shrugs))
            angle = np.degrees(np.arcsin(min(rise / lever, 0.9)))
            rotations[f"clavicle.{side}"] = rotation(Z, angle if side == "L" else -angle)
        offset = 0 * Y
        hang_arms(self.rig, rotations, offset)
        return Pose(rotations, offset, blink_units(0.0, 0.0))

    def readings(self, figure: Figure, places: dict[str, Array]) -> dict[str, float]:
        """Return how far each shoulder joint has risen, in lengths of the trunk (shoulders to hips)."""
        hips = between(places, "hip")[1]
        start = {"left": self._rest_y["L"], "right": self._rest_y["R"]}
        hips_at_rest = _middle(self.rig.head, "upperleg01")[1]
        return {
            f"rise_{side}": float(places[f"{side}_shoulder"][1] - hips - (start[side] - hips_at_rest)) / self._trunk_m
            for side in ("left", "right")
        }

    def checks(self, columns: Columns) -> list[Record]:
        """Return the greatest rise of each shoulder in the clip, and when each shrug set out."""
        times, span = columns["time_s"], span_of(columns["time_s"])
        either = np.maximum(*(columns[f"rise_{side}"] - rest(columns[f"rise_{side}"]) for side in ("left", "right")))
        found = []
        for i in range(len(self._shrugs)):
            start, end = REST_S + i * (2 * _RAMP_S + _HOLD_S) - 0.05, REST_S + (i + 1) * (2 * _RAMP_S + _HOLD_S)
            within = (times >= start) & (times <= end)
            at_s = onset(times[within], either[within], _ONSET_SHARE * float(either[within].max()))
            found.append(happening("shrug", start if at_s is None else at_s))
        return [
            must_read(
                "shoulder_elevation",
                span,
                float((columns[f"rise_{side}"] - rest(columns[f"rise_{side}"])).max()),
                side=side,
                events=found if side == "left" else None,
            )
            for side in ("left", "right")
        ]


def _held(time_s: float, number: int) -> float:
    start = REST_S + number * (2 * _RAMP_S + _HOLD_S)
    top = start + _RAMP_S
    return keyed(time_s, [(start, 0.0), (top, 1.0), (top + _HOLD_S, 1.0), (top + _HOLD_S + _RAMP_S, 0.0)])


def _middle(head: dict[str, Array], bone: str) -> Array:
    return (head[f"{bone}.L"] + head[f"{bone}.R"]) / 2
