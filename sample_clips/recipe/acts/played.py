"""What every act of the studio says of itself, and the cameras in front of which it is played."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar, Final

import numpy as np

from ..camera import Camera
from ..checks import Columns
from ..gait import hang_arms
from ..occlusion import SkyLook
from ..person import Person
from ..rig import Rig, Rotations
from ..room import ROOM_BEHIND, Box
from ..rotations import Array, X, Y, Z, rotation
from ..sounds import Sound
from .act import Act
from .scene import Record

REST_S: Final = 0.6
"""Time without movement at both ends of an act."""

EYE_POINTS: Final = (
    "nose",
    *(
        f"{side}_{point}"
        for point in ("eye", "iris", "eye_inner", "eye_outer", "shoulder")
        for side in ("left", "right")
    ),
)
BODY_POINTS: Final = (
    "nose",
    *(
        f"{side}_{point}"
        for point in ("eye", "shoulder", "elbow", "wrist", "hip", "knee", "ankle", "foot_index")
        for side in ("left", "right")
    ),
)

_NECK_SHARES: Final = {"neck01": 0.2, "neck02": 0.2, "neck03": 0.2, "head": 0.4}


class Played(Act):
    """An act whose parameters make several clips of it.

    Attributes
    ----------
    size_px
        Width and height of the picture.
    usual_s
        About how long it lasts when its parameters do not say.
    """

    usual_s: ClassVar[float] = 6.0
    size_px: ClassVar[tuple[int, int]] = (480, 480)
    crf: ClassVar[int] = 23

    def __init__(self, people: dict[str, Person], seconds: float) -> None:
        super().__init__(people)
        self.seconds = seconds
        self.camera = self.placed_camera()

    def placed_camera(self) -> Camera:
        """Return the camera, straight in front of the person."""
        raise NotImplementedError

    def boxes(self) -> dict[str, Box]:
        """Return the room behind."""
        return ROOM_BEHIND

    def segments(self) -> list[Record]:
        """Return the one stretch that a person would mark: the whole act with its rests."""
        return [{"name": "act", "onset_s": 0.0, "offset_s": self.seconds}]

    def sound(self) -> Sound | None:
        """Return what is heard, as long as the clip; None for a clip without sound."""
        return None

    def checks(self, columns: Columns) -> list[Record]:
        """Return what measures must say of the clip, read from the columns that were drawn."""
        raise NotImplementedError


class CloseUp(Played):
    """Head and neck, large in the picture."""

    sky_look: ClassVar = SkyLook(48, 384, (0, 1.5, 0), 0.55)
    fine_head: ClassVar = True
    hair: ClassVar = 3500
    thinnest_strand_px: ClassVar = 0.62
    points: ClassVar = EYE_POINTS
    digits: ClassVar[dict[str, int]] = {}
    covered_m: ClassVar[float] = 0.32

    def placed_camera(self) -> Camera:
        """Return the camera at the height of the face, 1.2 m away."""
        _, eye_y, eye_z = self.person.body.eye_centres["left"]
        return in_front((0.0, eye_y - 0.035, eye_z - 0.03), 1.2, self.covered_m, self.size_px, 0.45)


class Bust(CloseUp):
    """Head and shoulders."""

    covered_m: ClassVar[float] = 0.62
    hair: ClassVar = 2000
    size_px: ClassVar = (512, 512)

    def placed_camera(self) -> Camera:
        """Return the camera at the height of the neck, 1.5 m away."""
        _, eye_y, eye_z = self.person.body.eye_centres["left"]
        return in_front((0.0, eye_y - 0.17, eye_z - 0.06), 1.5, self.covered_m, self.size_px, 0.7)


class WholeBody(Played):
    """The whole person upright in a tall picture."""

    size_px: ClassVar = (432, 768)
    hair: ClassVar = 1200
    thinnest_strand_px: ClassVar = 0.62
    sky_look: ClassVar = SkyLook(40, 320, (0, 0.9, 0), 1.15)
    points: ClassVar = BODY_POINTS
    digits: ClassVar[dict[str, int]] = {}

    def placed_camera(self) -> Camera:
        """Return the camera at the height of the chest, 3.2 m away."""
        height = self.person.height_m
        return in_front((0.0, height * 0.5, 0.0), 3.2, height * 1.2, self.size_px, 1.3, place_y=1.15)


def in_front(
    target: tuple[float, float, float],
    away_m: float,
    covered_m: float,
    size_px: tuple[int, int],
    lit_radius_m: float,
    place_y: float | None = None,
) -> Camera:
    """Return a camera straight in front of `target` whose picture covers so many metres of height there."""
    x, y, z = (float(value) for value in target)
    place = (x, y + 0.02 if place_y is None else place_y, z + away_m)
    distance = float(np.linalg.norm(np.subtract(place, (x, y, z))))
    return Camera(place, (x, y, z), size_px[1] * distance / covered_m, (x, y, 0.0), lit_radius_m, size_px)


def turned_head(yaw_deg: float = 0.0, pitch_deg: float = 0.0, roll_deg: float = 0.0) -> Rotations:
    """Return rotations of neck and head that turn, raise and tilt it (+ to own left, up, to own left)."""
    return {
        bone: rotation(Y, yaw_deg * share) @ rotation(X, -pitch_deg * share) @ rotation(Z, -roll_deg * share)
        for bone, share in _NECK_SHARES.items()
    }


def at_ease(rig: Rig, rotations: Rotations, facing: Array | None = None) -> tuple[Rotations, Array]:
    """Return `rotations` with both arms hanging, and the offset of somebody who stays where he or she is."""
    offset = 0 * Y
    hang_arms(rig, rotations, offset, facing)
    return rotations, offset


def trunk_axes(bones: Mapping[str, Array]) -> Array:
    """Return the axes of the upper trunk in the room, as columns."""
    axes = bones["spine01"][:3, :3]
    return axes / np.cbrt(np.linalg.det(axes))
