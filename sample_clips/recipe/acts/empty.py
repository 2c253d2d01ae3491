"""Pictures in which a measure must find nothing: nobody in the room, a person too far away, from behind, or cut off."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from ..camera import Camera
from ..checks import Columns, must_refuse, span_of
from ..figure import Pose
from ..gait import hang_arms
from ..motion import arc
from ..person import Person
from ..rig import Rotations
from ..rotations import X
from .act import blink_units
from .played import WholeBody, in_front
from .scene import Record

_OUT_OF_SIGHT_M = 60.0


class Unseen(WholeBody):
    """Somebody stands, blinks once, and is framed so that some measures cannot see what they need.

    Parameters
    ----------
    refusing
        Measures that must give no number.
    why
        The reason in words.
    look_at_y, covered
        Height that the camera looks at and height that its picture covers there, both in heights of the person.
    present
        Whether the person is in the room at all.
    """

    usual_s: ClassVar = 3.0

    def __init__(
        self,
        people: dict[str, Person],
        refusing: Sequence[str],
        why: str,
        look_at_y: float = 0.5,
        covered: float = 1.2,
        present: bool = True,
        seconds: float = 3.0,
    ) -> None:
        self._refusing, self._why, self._present = refusing, why, present
        self._look_at_y, self._covered = look_at_y, covered
        super().__init__(people, seconds)

    def placed_camera(self) -> Camera:
        """Return the camera as it is framed."""
        height = self.person.height_m
        covered = height * self._covered
        return in_front((0.0, height * self._look_at_y, 0.0), 3.2, covered, self.size_px, 1.3, place_y=1.15)

    def baking_poses(self) -> dict[str, Pose]:
        """Return the person standing in the middle of the room."""
        return {"person": self._standing(0.0)}

    def pose(self, time_s: float) -> Pose:
        """Return the person standing, here or far away."""
        return self._standing(time_s, 0.0 if self._present else _OUT_OF_SIGHT_M)

    def checks(self, columns: Columns) -> list[Record]:
        """Return that the measures must give no number."""
        span = span_of(columns["time_s"])
        return [must_refuse(measure, span, self._why) for measure in self._refusing]

    def _standing(self, time_s: float, away_m: float = 0.0) -> Pose:
        offset = away_m * X
        rotations: Rotations = {}
        hang_arms(self.rig, rotations, offset)
        closed = arc(time_s, 1.4, 1.65)
        return Pose(rotations, offset, blink_units(closed, closed))
