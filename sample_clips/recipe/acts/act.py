"""What every act says of itself."""

from __future__ import annotations

from abc import ABC, abstractmethod
from typing import Any, ClassVar, Final

import numpy as np

from ..camera import Camera
from ..landmarks import joint_angle_deg
from ..occlusion import SkyLook
from ..person import Figure, Person, Pose
from ..rig import Rotations
from ..room import Box
from ..rotations import Array

FRAMES_PER_SECOND: Final = 30

Record = dict[str, Any]


class Act(ABC):
    """One person doing something before one camera for some seconds.

    Attributes
    ----------
    seconds
        Length of the clip.
    camera, sky_look
        How it is filmed and how its occlusion is baked.
    fine_head, hair, thinnest_strand_px
        How finely the head is drawn.
    points
        Names of the landmarks whose pixels are written down.
    digits
        Columns that the act adds itself, with the digits kept after the point.
    movements
        Those of its columns that are weights (0 to 1) of movements of the face.
    """

    seconds: ClassVar[float]
    camera: ClassVar[Camera]
    sky_look: ClassVar[SkyLook]
    fine_head: ClassVar[bool] = False
    hair: ClassVar[int] = 3000
    thinnest_strand_px: ClassVar[float] = 0.45
    points: ClassVar[tuple[str, ...]]
    digits: ClassVar[dict[str, int]]
    movements: ClassVar[tuple[str, ...]] = ()

    def __init__(self, person: Person) -> None:
        self.person = person
        self.rig = person.body.rig

    @property
    def frames(self) -> int:
        """Number of frames."""
        return round(self.seconds * FRAMES_PER_SECOND)

    @abstractmethod
    def boxes(self) -> dict[str, Box]:
        """Return the room and what stands in it."""

    @abstractmethod
    def pose(self, time_s: float) -> Pose:
        """Return the pose at a moment."""

    def props(self, time_s: float) -> dict[str, Array]:
        """Return the 4 x 4 places of the boxes that move."""
        return {}

    def readings(self, figure: Figure, places: dict[str, Array]) -> dict[str, float]:
        """Return the act's own columns that are read from the figure."""
        return {}

    @abstractmethod
    def segments(self) -> list[Record]:
        """Return the named spans of the clip: name, onset_s, offset_s."""

    def events(self) -> list[Record]:
        """Return events that follow from the plan; others are read from the columns."""
        return []

    def plan(self) -> Record:
        """Return parameters of the motion that help to understand it."""
        return {}

    def hang_arms(self, rotations: Rotations, offset: Array) -> None:
        """Let both arms hang at the sides; `rotations` is changed."""
        for side, sign in (("L", 1), ("R", -1)):
            self.rig.point_arm(rotations, offset, side, (sign * 0.17, -1, 0.02), (sign * 0.05, -1, 0.12))


def spans(record: dict[str, tuple[float, float]]) -> list[Record]:
    """Return named spans as records."""
    return [{"name": name, "onset_s": onset, "offset_s": offset} for name, (onset, offset) in record.items()]


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
