"""A finger touches forehead, cheeks and chin in an order, in an even or an uneven rhythm."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import ClassVar, Final, Literal

import numpy as np

from ..arms import point_finger, reach
from ..camera import Camera
from ..checks import Columns, happening, must_read, span_of
from ..figure import Figure, Pose
from ..gait import hang_arms
from ..motion import ease
from ..person import Person
from ..rig import Rig, Rotations
from ..rotations import Array, Y, Z
from ..sounds import Sound, room
from .act import blink_units
from .played import Bust, in_front
from .scene import Record

SITES: Final = ("left_forehead", "right_forehead", "left_cheek", "right_cheek", "left_chin", "right_chin")

_PLACES_M: Final = {"forehead": (0.030, 0.052), "cheek": (0.037, -0.040), "chin": (0.022, -0.097)}
"""How far aside of the middle and above the eyes each site is."""

_CONTACT_S: Final = 0.22
_AWAY_M: Final = 0.075
_MOVE_S: Final = 0.34


class Touches(Bust):
    """Touches sites of the face with the index finger of one hand, drawn back from the skin between touches.

    Whose hand it is does not matter to the face: here it is the person's own, held so that the finger points at it.

    Parameters
    ----------
    order
        Names of `SITES`.
    pauses_s
        From the start of each touch to the start of the next; one number for all, or one for each pause.
    hand
        Which hand touches.
    """

    usual_s: ClassVar = 6.5
    covered_m: ClassVar = 0.60
    digits: ClassVar = {"touching": 0, "finger_to_skin_mm": 1}

    def __init__(
        self,
        people: dict[str, Person],
        order: Sequence[str] = SITES,
        pauses_s: float | Sequence[float] = 0.85,
        hand: Literal["left", "right"] = "right",
    ) -> None:
        pauses = [pauses_s] * (len(order) - 1) if isinstance(pauses_s, float) else list(pauses_s)
        self._order, self._letter, self.sign = order, hand[0].upper(), 1 if hand == "left" else -1
        self._starts = [1.1 + float(sum(pauses[:i])) for i in range(len(order))]
        super().__init__(people, round(self._starts[-1] + _CONTACT_S + 0.9, 2))
        self.sites = {site: _on_skin(self.person, site) for site in SITES}

    def placed_camera(self) -> Camera:
        """Return the camera at the height of the chin, 1.5 m away."""
        _, eye_y, eye_z = self.person.body.eye_centres["left"]
        return in_front((0.0, eye_y - 0.12, eye_z - 0.06), 1.5, self.covered_m, self.size_px, 0.7)

    def pose(self, time_s: float) -> Pose:
        """Return the pose: one arm hangs, the other one's finger goes from site to site."""
        rotations: Rotations = {}
        offset = 0 * Y
        hang_arms(self.rig, rotations, offset)
        palm = np.array([self.sign * 0.7, -0.2, -0.6])
        elbow = np.array([self.sign * 1.0, -0.7, 0.25])
        self.lay_finger(self.rig, rotations, offset, time_s, self._letter, palm, elbow)
        return Pose(rotations, offset, blink_units(0.0, 0.0), columns={"touching": self.touching(time_s)})

    def lay_finger(
        self, rig: Rig, rotations: Rotations, offset: Array, time_s: float, letter: str, palm: Array, elbow: Array
    ) -> None:
        """Bring an index finger of somebody to where it is at a moment; `rotations` is changed."""
        point_finger(rig, rotations, letter)
        across = self.sign * self._aim(time_s)[0]
        along = np.array([-self.sign * (0.62 + 6 * across), 0.62 - 3 * across, -0.5])
        reach(rig, rotations, offset, letter, self.tip(time_s), along, palm, elbow)

    def readings(self, figure: Figure, places: dict[str, Array]) -> dict[str, float]:
        """Return how far the end of the index finger's last bone is from the nearest site."""
        bone = f"finger2-3.{self._letter}"
        tip = figure.bones[bone] @ np.append(self.rig.tail[bone], 1.0)
        away = min(float(np.linalg.norm(tip[:3] - site)) for site in self.sites.values())
        return {"finger_to_skin_mm": 1000 * away}

    def checks(self, columns: Columns) -> list[Record]:
        """Return the sites in their order, and how evenly the pauses went."""
        span = span_of(columns["time_s"])
        found = [
            happening(site, start, site.split("_")[0]) for site, start in zip(self._order, self._starts, strict=True)
        ]
        pauses = np.array([later - earlier for earlier, later in pairwise(self._starts)])
        return [
            must_read("touch_sequence", span, len(set(self._order)), events=found),
            must_read("touch_rhythm", span, float(pauses.std() / pauses.mean())),
        ]

    def events(self) -> list[Record]:
        """Return the touches."""
        return [
            {"kind": "touch", "site": site, "onset_s": round(start, 3), "offset_s": round(start + _CONTACT_S, 3)}
            for site, start in zip(self._order, self._starts, strict=True)
        ]

    def sound(self) -> Sound | None:
        """Return the room: touching is silent."""
        return room(self.seconds)

    def touching(self, time_s: float) -> float:
        """Return 1 while the finger touches, else 0."""
        return float(any(start <= time_s <= start + _CONTACT_S for start in self._starts))

    def _aim(self, time_s: float) -> Array:
        """Return the point of the face before which the finger is."""
        place = self.sites[self._order[0]]
        for site, start in zip(self._order, self._starts, strict=True):
            place = place + (self.sites[site] - place) * ease((time_s - start + _MOVE_S) / (_MOVE_S - 0.10))
        return place

    def tip(self, time_s: float) -> Array:
        """Return where the fingertip is: on the skin while it touches, before it between, low at both ends."""
        near = max(
            ease((time_s - start + 0.16) / 0.16) * (1 - ease((time_s - start - _CONTACT_S) / 0.16))
            for start in self._starts
        )
        ready = ease((time_s - 0.3) / 0.5) * (1 - ease((time_s - self._starts[-1] - _CONTACT_S - 0.2) / 0.5))
        aim = self._aim(time_s)
        before = aim + np.array([self.sign * 0.03, -0.02, _AWAY_M]) * (1 - near)
        low = np.array([self.sign * 0.22, self.sites["left_chin"][1] - 0.20, aim[2] + 0.12])
        return low + (before - low) * ready


def _on_skin(person: Person, site: str) -> Array:
    """Return the point of the skin at a site, from the front: the foremost of the vertices near it."""
    side, name = site.split("_")
    aside, above = _PLACES_M[name]
    body = person.body
    _, eye_y, eye_z = body.eye_centres["left"]
    points = body.vertices[body.skin_ids]
    x = aside if side == "left" else -aside
    front = points[points[:, 2] > eye_z - 0.06]
    away = np.hypot(front[:, 0] - x, front[:, 1] - eye_y - above)
    return front[np.argmin(away)] + 0.006 * Z
