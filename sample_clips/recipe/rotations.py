"""Rotations as 3 x 3 matrices that act on column vectors."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

X, Y, Z = np.eye(3)


def unit(vector: ArrayLike) -> Array:
    """Return `vector` scaled to length one."""
    array = np.asarray(vector, float)
    return array / np.linalg.norm(array)


def rotation(axis: ArrayLike, angle_deg: float) -> Array:
    """Return the right-handed rotation by `angle_deg` about `axis` (Rodrigues' formula)."""
    x, y, z = unit(axis)
    cross = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    angle = np.deg2rad(angle_deg)
    return np.eye(3) + np.sin(angle) * cross + (1 - np.cos(angle)) * cross @ cross


def swing(source: ArrayLike, goal: ArrayLike) -> Array:
    """Return the smallest rotation that takes the direction `source` onto the direction `goal`."""
    start, end = unit(source), unit(goal)
    axis = np.cross(start, end)
    sine = float(np.linalg.norm(axis))
    if sine < 1e-9:
        return np.eye(3)
    return rotation(axis, float(np.degrees(np.arctan2(sine, start @ end))))


def axes_along(direction: ArrayLike, hinge: ArrayLike) -> Array:
    """Return axes as columns: along `direction`, along the part of `hinge` square to it, square to both."""
    along = unit(direction)
    turn = np.asarray(hinge, float)
    turn = unit(turn - along * (turn @ along))
    return np.stack([along, turn, np.cross(along, turn)], axis=1)


def placed(turn: Array, position: ArrayLike) -> Array:
    """Return the 4 x 4 transform that turns by `turn` and then moves by `position`."""
    transform = np.eye(4)
    transform[:3, :3] = turn
    transform[:3, 3] = position
    return transform


def move(transform: Array, points: ArrayLike) -> Array:
    """Apply a 4 x 4 `transform` to points of shape ``(..., 3)``."""
    return np.asarray(points, float) @ transform[:3, :3].T + transform[:3, 3]
