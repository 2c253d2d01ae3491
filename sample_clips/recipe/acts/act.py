"""What every act of one person says of itself."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Mapping
from typing import ClassVar

import numpy as np

from ..figure import Figure, Pose
from ..landmarks import joint_angle_deg
from ..person import Person
from ..rotations import Array
from .scene import Record, Scene


class Act(Scene):
    """One person doing something before one camera for some seconds; somebody else may help in the role ``examiner``.

    Attributes
    ----------
    digits
        Columns that the act adds itself, with the digits kept after the point.
    movements
        Those of its columns that are weights (0 to 1) of movements of the face.
    pointed_s
        When somebody points at the examined person before the film is analysed; None where nobody does.
    """

    digits: ClassVar[dict[str, int]]
    movements: ClassVar[tuple[str, ...]] = ()
    pointed_s: float | None = None

    def __init__(self, people: dict[str, Person]) -> None:
        super().__init__(people)
        self.role = "person" if "person" in people else next(iter(people))
        self.person = people[self.role]
        self.rig = self.person.body.rig

    @abstractmethod
    def pose(self, time_s: float) -> Pose:
        """Return the pose at a moment."""

    def poses(self, time_s: float) -> dict[str, Pose]:
        """Return the pose at a moment, by the name of the one person."""
        return dict.fromkeys(self.people, self.pose(time_s))

    def readings(self, figure: Figure, places: dict[str, Array]) -> dict[str, float]:
        """Return the act's own columns that are read from the figure."""
        return {}

    def events(self) -> list[Record]:
        """Return events that follow from the plan; others are read from the columns."""
        return []

    def checks(self, columns: Mapping[str, Array]) -> list[Record]:
        """Return what measures must say of the clip, read from its columns, ``time_s`` among them."""
        return []

    def plan(self) -> Record:
        """Return parameters of the motion that help to understand it."""
        return {}


def blink_units(left: float, right: float) -> dict[str, float]:
    """Return the face units that shut the lids by these shares (0 to 1)."""
    return {"eyeBlinkLeft": left, "eyeBlinkRight": right}


def knee_angles(places: dict[str, Array]) -> dict[str, float]:
    """Return the angle of both knees; 180 deg when straight."""
    return {
        f"knee_angle_{side}_deg": joint_angle_deg(
            places[f"{side}_hip"], places[f"{side}_knee"], places[f"{side}_ankle"]
        )
        for side in ("left", "right")
    }


def between(places: dict[str, Array], point: str) -> Array:
    """Return the middle between the left and the right `point`."""
    return (places[f"left_{point}"] + places[f"right_{point}"]) / 2


def apart(places: dict[str, Array], point: str) -> float:
    """Return the distance between the left and the right `point`."""
    return float(np.linalg.norm(places[f"left_{point}"] - places[f"right_{point}"]))
