"""One frame of a clip, as it goes from the camera to those who write down film and truth."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .camera import Camera
from .figure import Figure, Pose
from .overlap import Seen
from .rotations import Array


@dataclass(frozen=True)
class Moment:
    """The picture, the pose and figure of each person, 4 x 4 places of props, who is seen how far, and the camera."""

    picture: NDArray[np.uint8]
    poses: dict[str, Pose]
    figures: dict[str, Figure]
    props: dict[str, Array]
    seen: dict[str, Seen]
    camera: Camera
