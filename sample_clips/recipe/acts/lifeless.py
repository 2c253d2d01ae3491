"""What looks like a person and is none: a poster on the wall of an empty room, a dummy that never moves."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar, Final

import numpy as np

from ..camera import Camera
from ..checks import Columns, must_refuse, span_of
from ..figure import Pose
from ..hung import Drawing, Picture, hung
from ..person import Person
from ..rotations import X
from .act import blink_units
from .mimic import added
from .played import Bust, CloseUp, WholeBody, at_ease, in_front
from .scene import Record

FACE_MEASURES: Final = (
    "gaze_sweep",
    "facial_movement",
    "smile_asymmetry",
    "brow_asymmetry",
    "jaw_opening",
    "jaw_side",
    "eye_closure",
    "eyes_closed_share",
    "head_stillness",
    "head_yaw_range",
    "neck_rotation",
    "neck_flexion",
    "neck_extension",
    "neck_side_bend",
)
BODY_MEASURES: Final = (
    "stance_width",
    "stance_width_mm",
    "base_of_support",
    "postural_sway",
    "postural_sway_mm",
    "hold_time",
    "shoulder_elevation",
    "knee_jerk",
    "elbow_jerk",
)

_OUT_OF_SIGHT_M: Final = 60.0
_WALL_Z: Final = -1.8
_POSTER_M: Final = (0.46, 0.46)
_POSTER_Y: Final = 1.5


class _Still:
    """What stands and never moves; to be mixed with the act that says how it is filmed."""

    fps: ClassVar = 15
    frozen: ClassVar = True
    usual_s: ClassVar = 11.0
    lids: ClassVar = 0.0
    measures: ClassVar[Sequence[str]] = FACE_MEASURES

    def __init__(self, people: dict[str, Person], seconds: float = 11.0) -> None:
        super().__init__(people, seconds)

    def pose(self, time_s: float) -> Pose:
        """Return the same pose every time."""
        rotations, offset = at_ease(self.rig, {})
        return Pose(rotations, offset, blink_units(self.lids, self.lids))

    def checks(self, columns: Columns) -> list[Record]:
        """Return that no measure may give a number."""
        span = span_of(columns["time_s"])
        return [must_refuse(name, span, "a dummy") for name in self.measures]


class Dummy(_Still, WholeBody):
    """A body that stands and never moves; its eyes are shut for good.

    Parameters
    ----------
    seconds
        Length.
    """

    lids: ClassVar = 1.0
    measures: ClassVar = (*BODY_MEASURES, *FACE_MEASURES)


class DummyHead(_Still, CloseUp):
    """The head of a dummy, large in the picture, its eyes open."""


class Poster(Bust):
    """An empty room with a picture of a smiling person on the wall.

    Parameters
    ----------
    made
        Face units of the person in the picture.
    seconds
        Length.
    """

    fps: ClassVar = 15
    frozen: ClassVar = True
    usual_s: ClassVar = 11.0

    def __init__(
        self, people: dict[str, Person], made: Sequence[tuple[str, float]] = (), seconds: float = 11.0
    ) -> None:
        self._made = dict(made)
        super().__init__(people, seconds)

    def placed_camera(self) -> Camera:
        """Return the camera before the wall."""
        return in_front((0.0, _POSTER_Y, _WALL_Z), 1.4, self.covered_m, self.size_px, 0.7)

    def baking_poses(self) -> dict[str, Pose]:
        """Return the person who sits for the picture."""
        rotations, offset = at_ease(self.rig, {})
        return {"person": Pose(rotations, offset, added(self._made))}

    def prepare(self, drawn: Drawing) -> None:
        """Take the picture that hangs on the wall."""
        _, eye_y, eye_z = self.person.body.eye_centres["left"]
        before = in_front((0.0, eye_y - 0.05, eye_z - 0.05), 1.5, 0.38, self.size_px, 0.7)
        self._portrait = drawn(self.baking_poses(), before)

    def retouched(self, picture: Picture, camera: Camera) -> Picture:
        """Return the picture of the room with the poster on its wall."""
        width, height = _POSTER_M
        centre = np.array([0.0, _POSTER_Y, _WALL_Z])
        across, up = np.array([width / 2, 0.0, 0.0]), np.array([0.0, height / 2, 0.0])
        corners = [centre - across + up, centre + across + up, centre + across - up, centre - across - up]
        return hung(picture, self._portrait, camera.project(np.array(corners)))

    def pose(self, time_s: float) -> Pose:
        """Return the person far away."""
        rotations, _ = at_ease(self.rig, {})
        return Pose(rotations, _OUT_OF_SIGHT_M * X, added(self._made))

    def checks(self, columns: Columns) -> list[Record]:
        """Return that no measure may give a number."""
        span = span_of(columns["time_s"])
        names = (*FACE_MEASURES, "shoulder_elevation", "stance_width")
        return [must_refuse(name, span, "a picture of a person") for name in names]
