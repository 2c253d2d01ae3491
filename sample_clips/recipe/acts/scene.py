"""What every clip says of itself: who acts, before which camera, for how long."""

from __future__ import annotations

from abc import ABC, abstractmethod
from typing import Any, ClassVar, Final

from ..camera import Camera
from ..figure import Pose
from ..hung import Drawing, Picture
from ..look import PARTNER, Look
from ..occlusion import SkyLook
from ..person import Person
from ..room import Box
from ..rotations import Array

FRAMES_PER_SECOND: Final = 30

Record = dict[str, Any]


class Scene(ABC):
    """One or more people doing something before one camera for some seconds.

    Attributes
    ----------
    looks
        Who acts, and how each of them looks.
    seconds, fps
        Length of the clip, and frames a second.
    camera, sky_look
        How it is filmed and how its occlusion is baked.
    crf
        How coarsely the film is compressed; more is coarser.
    fine_head, hair, thinnest_strand_px
        How finely the heads are drawn.
    points
        Names of the landmarks whose pixels are written down.
    frozen
        Whether nothing ever moves in it but the camera.
    """

    looks: ClassVar[dict[str, Look]] = {"person": PARTNER}
    seconds: ClassVar[float]
    fps: ClassVar[int] = FRAMES_PER_SECOND
    camera: ClassVar[Camera]
    sky_look: ClassVar[SkyLook]
    crf: ClassVar[int] = 21
    fine_head: ClassVar[bool] = False
    hair: ClassVar[int] = 3000
    thinnest_strand_px: ClassVar[float] = 0.45
    points: ClassVar[tuple[str, ...]]
    frozen: ClassVar[bool] = False

    def __init__(self, people: dict[str, Person]) -> None:
        self.people = people

    @property
    def frames(self) -> int:
        """Number of frames."""
        return round(self.seconds * self.fps)

    @abstractmethod
    def boxes(self) -> dict[str, Box]:
        """Return the room and what stands in it."""

    @abstractmethod
    def poses(self, time_s: float) -> dict[str, Pose]:
        """Return the pose of each person at a moment."""

    def baking_poses(self) -> dict[str, Pose]:
        """Return the poses, within the ball of `sky_look`, in which each person's occlusion is baked."""
        return self.poses(0.0)

    def prepare(self, drawn: Drawing) -> None:
        """Have drawn, before the first frame, what the scene needs for `retouched`."""
        return

    def retouched(self, picture: Picture, camera: Camera) -> Picture:
        """Return the picture as it goes to the sensor, with what is drawn on top of it."""
        return picture

    def props(self, time_s: float) -> dict[str, Array]:
        """Return the 4 x 4 places of the boxes that move."""
        return {}

    @abstractmethod
    def segments(self) -> list[Record]:
        """Return the named spans of the clip: name, onset_s, offset_s."""


def spans(record: dict[str, tuple[float, float]]) -> list[Record]:
    """Return named spans as records."""
    return [{"name": name, "onset_s": onset, "offset_s": offset} for name, (onset, offset) in record.items()]
