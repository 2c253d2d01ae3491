"""Movements of the face: smile, brows up, frown, eyes shut tight, lips pursed; in an order, sides alike or not."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import ClassVar, Final

import numpy as np
from numpy.typing import NDArray

from ..checks import Columns, happening, must_read, must_refuse, onset, rest, span_of
from ..figure import Figure, Pose
from ..motion import pulse
from ..person import Person
from ..rotations import Array, move
from .played import REST_S, CloseUp, at_ease, turned_head
from .scene import Record

SIDES: Final = ("left", "right")

MOVEMENTS: Final = ("smile", "brows_up", "frown", "eyes_shut_tight", "lips_pursed")

RAMP_S: Final = 0.25
HOLD_S: Final = 0.75
PAUSE_S: Final = 0.35

_OF_A_SIDE: Final[dict[str, dict[str, float]]] = {
    "smile": {"mouthSmile": 1.0, "cheekSquint": 0.4, "eyeSquint": 0.3},
    "brows_up": {"browOuterUp": 1.0, "eyeWide": 0.5},
    "frown": {"browDown": 1.0, "mouthFrown": 0.7, "noseSneer": 0.15},
    "eyes_shut_tight": {"eyeBlink": 1.0, "eyeSquint": 0.8, "cheekSquint": 0.9, "browDown": 0.5, "noseSneer": 0.3},
    "lips_pursed": {},
}
"""Face units of each movement, without the side at the end of their names."""

_OF_BOTH: Final[dict[str, dict[str, float]]] = {
    "smile": {"jawOpen": 0.05},
    "brows_up": {"browInnerUp": 1.0},
    "lips_pursed": {"mouthPucker": 1.0, "mouthFunnel": 0.25},
}
"""Face units of each movement that have no side."""


@dataclass(frozen=True)
class Strength:
    """How fully the two sides make a movement: 0 not at all to 1."""

    left: float = 1.0
    right: float = 1.0

    @property
    def sides(self) -> dict[str, float]:
        """By name of the side."""
        return {"left": self.left, "right": self.right}


BOTH: Final = Strength()


class FacePoints:
    """Points of the skin whose way tells how far a movement goes: corners of the mouth and brows.

    They are the vertices of the base mesh that a full smile carries farthest, and those of a strip along the brow.
    """

    def __init__(self, person: Person) -> None:
        body = person.body
        self._body = body
        self.corner: dict[str, int] = {}
        self.brow: dict[str, NDArray[np.int64]] = {}
        points = body.vertices[body.skin_ids]
        for side, sign in (("left", 1), ("right", -1)):
            shift = np.linalg.norm(body.units[f"mouthSmile{side.capitalize()}"], axis=1)
            self.corner[side] = int(np.argmax(shift))
            x, y, z = (points - body.eye_centres[side]).T
            strip = (abs(x) < 0.018) & (y > 0.012) & (y < 0.026) & (z > 0.0) & (sign * points[:, 0] > 0)
            self.brow[side] = body.skin_ids[strip]

    def columns(self, figure: Figure) -> dict[str, float]:
        """Return how far, in mm, each corner of the mouth and each brow is from its place in the rest pose."""
        back = np.linalg.inv(figure.bones["head"])
        found = {}
        for side in SIDES:
            corner, brow = self.corner[side], self.brow[side]
            way = move(back, figure.skin[corner]) - self._body.vertices[corner]
            found[f"mouth_corner_{side}_mm"] = 1000 * float(np.linalg.norm(way))
            rise = move(back, figure.skin[brow]) - self._body.vertices[brow]
            found[f"brow_{side}_mm"] = 1000 * float(rise[:, 1].mean())
        return found


@dataclass(frozen=True)
class Spell:
    """One movement from the start of its rise to the end of its fall."""

    movement: str
    onset_s: float
    strength: Strength = field(default=BOTH)

    @property
    def fall_s(self) -> float:
        """When it begins to end."""
        return self.onset_s + RAMP_S + HOLD_S

    def made(self, time_s: float) -> float:
        """Return how far it is made at a moment, 0 to 1."""
        return pulse(time_s, self.onset_s, self.fall_s, RAMP_S)


def movement_units(movement: str, made: float, strength: Strength) -> dict[str, float]:
    """Return the face units of a movement that is made so far (0 to 1)."""
    units = {
        name: weight * made * (strength.left + strength.right) / 2
        for name, weight in _OF_BOTH.get(movement, {}).items()
    }
    for side, share in strength.sides.items():
        for name, weight in _OF_A_SIDE[movement].items():
            units[f"{name}{side.capitalize()}"] = weight * made * share
    return units


def added(*parts: Mapping[str, float]) -> dict[str, float]:
    """Return the sum of the weights of face units."""
    total: dict[str, float] = {"eyeBlinkLeft": 0.0, "eyeBlinkRight": 0.0}
    for part in parts:
        for name, weight in part.items():
            total[name] = total.get(name, 0.0) + weight
    return total


class Mimic(CloseUp):
    """Makes the movements one after the other.

    Parameters
    ----------
    order
        Names of `MOVEMENTS`.
    weak
        Movement -> strength of its sides, where they differ.
    yaw_deg
        To where the head is turned all the time.
    refuse
        Why no measure may give a number, if the clip is such a one.
    """

    movements: ClassVar = MOVEMENTS
    digits: ClassVar = dict.fromkeys(MOVEMENTS, 3) | {
        f"{point}_{side}_mm": 3 for point in ("mouth_corner", "brow") for side in SIDES
    }

    def __init__(
        self,
        people: dict[str, Person],
        order: tuple[str, ...] = MOVEMENTS,
        weak: Mapping[str, Strength] | None = None,
        yaw_deg: float = 0.0,
        refuse: str = "",
    ) -> None:
        length = 2 * RAMP_S + HOLD_S
        starts = [REST_S + i * (length + PAUSE_S) for i in range(len(order))]
        self._spells = [
            Spell(name, start, (weak or {}).get(name, BOTH)) for name, start in zip(order, starts, strict=True)
        ]
        self._yaw_deg, self._refuse = yaw_deg, refuse
        super().__init__(people, round(starts[-1] + length + REST_S, 2))
        self._face = FacePoints(self.person)

    def pose(self, time_s: float) -> Pose:
        """Return the pose: the face moves, the head does not."""
        made = dict.fromkeys(MOVEMENTS, 0.0)
        parts = []
        for spell in self._spells:
            made[spell.movement] = max(made[spell.movement], spell.made(time_s))
            parts.append(movement_units(spell.movement, spell.made(time_s), spell.strength))
        rotations, offset = at_ease(self.rig, turned_head(self._yaw_deg))
        return Pose(rotations, offset, added(*parts), columns=made)

    def readings(self, figure: Figure, places: dict[str, Array]) -> dict[str, float]:
        """Return how far the corners of the mouth and the brows are from rest."""
        return self._face.columns(figure)

    def checks(self, columns: Columns) -> list[Record]:
        """Return the movements made, and how unlike the sides of smile and brows are at their height."""
        span = span_of(columns["time_s"])
        if self._refuse:
            return [must_refuse(name, span, self._refuse) for name in ("facial_movement", "smile_asymmetry")]
        found = []
        for spell in self._spells:
            within = (columns["time_s"] >= spell.onset_s - 0.1) & (columns["time_s"] <= spell.fall_s)
            at_s = onset(columns["time_s"][within], columns[spell.movement][within], 0.5)
            found.append(happening(spell.movement, spell.onset_s if at_s is None else at_s))
        result = [must_read("facial_movement", span, len({spell.movement for spell in self._spells}), events=found)]
        for movement, measure, point in (
            ("smile", "smile_asymmetry", "mouth_corner"),
            ("brows_up", "brow_asymmetry", "brow"),
        ):
            if columns[movement].max() > 0.5:
                result.append(must_read(measure, span, unlikeness(columns, movement, point)))
        return result


def unlikeness(columns: Columns, movement: str, point: str) -> float:
    """Return (left - right) / (left + right) of the way from rest of a point of both sides at a movement's height."""
    height = columns[movement] > 0.98
    ways = (columns[f"{point}_{side}_mm"] for side in SIDES)
    left, right = (float(np.median(way[height])) - rest(way) for way in ways)
    return (left - right) / (left + right)
