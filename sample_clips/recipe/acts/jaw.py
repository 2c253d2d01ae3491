"""The jaw: opened wide, and moved to both sides."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

import numpy as np

from ..checks import Columns, must_read, rest, span_of
from ..figure import Figure, Pose
from ..motion import keyed
from ..person import Person
from ..rotations import Array, move
from .mimic import added
from .played import REST_S, CloseUp, at_ease
from .scene import Record

_RAMP_S = 0.45
_HOLD_S = 0.6
_SIDEWAYS_GAP = 0.16
"""How far the jaw opens while it goes to the side, in parts of the unit, so that the teeth come apart."""


class Jaw(CloseUp):
    """Opens the mouth and moves the jaw to the own left and right.

    Parameters
    ----------
    opening_mm
        How far the inner edges of the lips come apart; 0 leaves the opening out.
    sideways_mm
        Side and way of the chin, one after the other.
    """

    digits: ClassVar = {"lip_gap_mm": 2, "chin_side_mm": 2}
    covered_m: ClassVar = 0.39

    def __init__(
        self, people: dict[str, Person], opening_mm: float = 35.0, sideways_mm: Sequence[tuple[str, float]] = ()
    ) -> None:
        self._opening_mm, self._sideways_mm = opening_mm, tuple(sideways_mm)
        spells = (1 if opening_mm else 0) + len(self._sideways_mm)
        super().__init__(people, round(2 * REST_S + spells * (2 * _RAMP_S + _HOLD_S), 2))
        body = self.person.body
        self._upper, self._lower = _inner_lips(self.person)
        self._chin = _chin(self.person)
        self._middle = float(body.vertices[self._chin, 0])
        self._open_unit = opening_mm / self._gap_of(1.0) if opening_mm else 0.0
        self._side_units = [
            (1 if side == "left" else -1) * size / (1000 * abs(body.units["jawLeft"][self._chin, 0]))
            for side, size in self._sideways_mm
        ]

    def pose(self, time_s: float) -> Pose:
        """Return the pose: only the jaw moves."""
        opened, aside = self._opened(time_s), self._aside(time_s)
        units = {
            "jawOpen": opened,
            "jawLeft": max(aside, 0.0),
            "jawRight": max(-aside, 0.0),
        }
        rotations, offset = at_ease(self.rig, {})
        return Pose(rotations, offset, added(units))

    def readings(self, figure: Figure, places: dict[str, Array]) -> dict[str, float]:
        """Return the distance of the inner edges of the lips in the middle, and the way of the chin to the own left."""
        gap = figure.skin[self._upper] - figure.skin[self._lower]
        chin = move(np.linalg.inv(figure.bones["head"]), figure.skin[self._chin])
        return {
            "lip_gap_mm": 1000 * float(np.linalg.norm(gap)),
            "chin_side_mm": 1000 * float(chin[0] - self._middle),
        }

    def checks(self, columns: Columns) -> list[Record]:
        """Return the greatest gap of the lips beyond rest, and the greatest way of the chin to each side."""
        span = span_of(columns["time_s"])
        gap = columns["lip_gap_mm"]
        result = []
        if self._opening_mm:
            result.append(must_read("jaw_opening", span, float(gap.max() - rest(gap))))
        chin = columns["chin_side_mm"]
        for side, sign in (("left", 1), ("right", -1)):
            if side in dict(self._sideways_mm):
                result.append(must_read("jaw_side", span, float((sign * chin).max()), side=side))
        return result

    def _gap_of(self, weight: float) -> float:
        """Return by how many mm the lips come apart for a weight of the unit."""
        body = self.person.body
        apart = body.vertices[self._upper] - body.vertices[self._lower]
        opened = apart + weight * (body.units["jawOpen"][self._upper] - body.units["jawOpen"][self._lower])
        return 1000 * float(np.linalg.norm(opened) - np.linalg.norm(apart))

    def _opened(self, time_s: float) -> float:
        start = REST_S
        wide = _held(time_s, start) * self._open_unit if self._opening_mm else 0.0
        first = start + (2 * _RAMP_S + _HOLD_S if self._opening_mm else 0.0)
        slight = [
            _SIDEWAYS_GAP * _held(time_s, first + i * (2 * _RAMP_S + _HOLD_S)) for i in range(len(self._side_units))
        ]
        return wide + sum(slight)

    def _aside(self, time_s: float) -> float:
        first = REST_S + (2 * _RAMP_S + _HOLD_S if self._opening_mm else 0.0)
        return sum(unit * _held(time_s, first + i * (2 * _RAMP_S + _HOLD_S)) for i, unit in enumerate(self._side_units))


def _held(time_s: float, start_s: float) -> float:
    end = start_s + _RAMP_S + _HOLD_S
    return keyed(time_s, [(start_s, 0.0), (start_s + _RAMP_S, 1.0), (end, 1.0), (end + _RAMP_S, 0.0)])


def _inner_lips(person: Person) -> tuple[int, int]:
    """Return the vertices of the upper and of the lower lip that touch in the middle of the shut mouth."""
    body = person.body
    way = np.linalg.norm(body.units["jawOpen"], axis=1)
    points = body.vertices[body.skin_ids]
    teeth = body.vertices[np.unique(body.faces_of("helper-upper-teeth"))]
    near = (abs(points[:, 0]) < 0.001) & (points[:, 2] > teeth[:, 2].max()) & (points[:, 1] > teeth[:, 1].min() - 0.02)
    ids = body.skin_ids[near & (points[:, 1] < teeth[:, 1].max() + 0.004)]
    upper, lower = ids[way[ids] < 0.004], ids[way[ids] > 0.030]
    gaps = np.linalg.norm(body.vertices[upper][:, None] - body.vertices[lower][None], axis=2)
    i, j = np.unravel_index(np.argmin(gaps), gaps.shape)
    return int(upper[i]), int(lower[j])


def _chin(person: Person) -> int:
    """Return the vertex of the skin in the middle that the opening jaw carries farthest back."""
    body = person.body
    middle = body.skin_ids[abs(body.vertices[body.skin_ids, 0]) < 0.001]
    return int(middle[np.argmin(body.units["jawOpen"][middle, 2])])
