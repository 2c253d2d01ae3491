"""The still camera and the view from a far light."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from .rotations import Array, Y, unit

_NEAR_M, _FAR_M = 0.1, 30.0


@dataclass(frozen=True)
class Camera:
    """A pinhole camera without distortion that stands at `place` and looks at `target`.

    Parameters
    ----------
    place, target
        Points in metres.
    focal_px
        Focal length in pixels.
    lit_centre, lit_radius_m
        Ball around everything that throws a shadow into the picture.
    size_px
        Width and height of the picture.
    """

    place: tuple[float, float, float]
    target: tuple[float, float, float]
    focal_px: float
    lit_centre: tuple[float, float, float]
    lit_radius_m: float
    size_px: tuple[int, int] = (1280, 720)

    @property
    def axes(self) -> Array:
        """Right, up and backward of the camera, as rows."""
        backward = unit(np.subtract(self.place, self.target))
        right = unit(np.cross(Y, backward))
        return np.stack([right, np.cross(backward, right), backward])

    @property
    def metres_per_px(self) -> float:
        """Size of a pixel at the target."""
        return float(np.linalg.norm(np.subtract(self.place, self.target)) / self.focal_px)

    def view(self) -> Array:
        """Return the 4 x 4 matrix from the room to clip space."""
        into = np.eye(4)
        into[:3, :3] = self.axes
        into[:3, 3] = -self.axes @ self.place
        lens = np.zeros((4, 4))
        lens[0, 0] = 2 * self.focal_px / self.size_px[0]
        lens[1, 1] = 2 * self.focal_px / self.size_px[1]
        lens[2, 2] = -(_FAR_M + _NEAR_M) / (_FAR_M - _NEAR_M)
        lens[2, 3] = -2 * _FAR_M * _NEAR_M / (_FAR_M - _NEAR_M)
        lens[3, 2] = -1
        return lens @ into

    def project(self, points: ArrayLike) -> Array:
        """Return the pixels, from the top left corner, of points of shape ``(n, 3)``; shape ``(n, 2)``."""
        seen = (np.atleast_2d(points) - self.place) @ self.axes.T
        scale = self.focal_px / -seen[:, 2]
        width, height = self.size_px
        return np.c_[width / 2 + scale * seen[:, 0], height / 2 - scale * seen[:, 1]]


def parallel_view(direction: ArrayLike, centre: ArrayLike, radius_m: float) -> Array:
    """Return the 4 x 4 view of a far light that shines from `direction` onto a ball."""
    backward = unit(direction)
    right = unit(np.cross([0, 1, 0.01], backward))
    view = np.eye(4)
    view[0, :3] = right / radius_m
    view[1, :3] = np.cross(backward, right) / radius_m
    view[2, :3] = -backward / 3
    view[:3, 3] = -view[:3, :3] @ np.asarray(centre, float)
    return view
