"""A flat picture hung on a wall of the room: laid over the film's picture where the wall shows it."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates

from .rotations import Array

if TYPE_CHECKING:
    from .camera import Camera
    from .figure import Pose

Picture = NDArray[np.uint8]

Drawing = Callable[["dict[str, Pose]", "Camera"], Picture]
"""Draws people in poses from a camera whose picture has the size of the film's."""


def hung(picture: Picture, flat: Picture, corners: Array) -> Picture:
    """Return `picture` with `flat` over it.

    Parameters
    ----------
    picture
        Shape ``(height, width, 3)``.
    flat
        What hangs there, likewise.
    corners
        Pixels of its top left, top right, bottom right and bottom left corner; shape ``(4, 2)``.

    Examples
    --------
    >>> wall, poster = np.zeros((4, 4, 3), np.uint8), np.full((2, 2, 3), 9, np.uint8)
    >>> hung(wall, poster, np.array([[1.0, 1.0], [3.0, 1.0], [3.0, 3.0], [1.0, 3.0]]))[..., 0]
    array([[0, 0, 0, 0],
           [0, 9, 9, 0],
           [0, 9, 9, 0],
           [0, 0, 0, 0]], dtype=uint8)
    """
    height, width = flat.shape[:2]
    back = _homography(corners, np.array([[0, 0], [width, 0], [width, height], [0, height]], float))
    rows, columns = (np.arange(size) + 0.5 for size in picture.shape[:2])
    x, y = np.meshgrid(columns, rows)
    found = np.stack([x, y, np.ones_like(x)], axis=-1) @ back.T
    u, v = found[..., 0] / found[..., 2], found[..., 1] / found[..., 2]
    inside = (u >= 0) & (u < width) & (v >= 0) & (v < height)
    result = picture.copy()
    for colour in range(3):
        layer = flat[..., colour].astype(float)
        seen = map_coordinates(layer, [v[inside] - 0.5, u[inside] - 0.5], order=1, mode="nearest")
        result[..., colour][inside] = np.clip(seen.round(), 0, 255).astype(np.uint8)
    return result


def _homography(source: Array, goal: Array) -> Array:
    """Return the 3 x 3 matrix that takes four points to four others."""
    rows = []
    for (x, y), (u, v) in zip(source, goal, strict=True):
        rows.append([x, y, 1, 0, 0, 0, -u * x, -u * y])
        rows.append([0, 0, 0, x, y, 1, -v * x, -v * y])
    solved = np.linalg.solve(np.array(rows, float), goal.ravel())
    return np.append(solved, 1.0).reshape(3, 3)
