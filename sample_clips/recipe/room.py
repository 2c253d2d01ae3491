"""Boxes that make the room and what stands in it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .rotations import Array
from .surface import Surface

Point = tuple[float, float, float]


@dataclass(frozen=True)
class Box:
    """A box between two corners, in one linear colour.

    Parameters
    ----------
    casts_shadow
        Whether it throws a shadow; walls and floor need none.
    hides_sky
        Whether it darkens the person near it.
    """

    low: Point
    high: Point
    colour: Point
    casts_shadow: bool = True
    hides_sky: bool = False


FLOOR = Box((-5, -0.05, -5), (5, 0, 6), (0.20, 0.155, 0.12), casts_shadow=False, hides_sky=True)
_WALL = (0.36, 0.385, 0.37)
_SKIRTING = (0.6, 0.6, 0.58)

ROOM_BEHIND = {
    "floor": FLOOR,
    "wall": Box((-5, 0, -1.85), (5, 3.4, -1.8), _WALL, casts_shadow=False),
    "skirting": Box((-5, 0, -1.8), (5, 0.10, -1.78), _SKIRTING, casts_shadow=False),
    "door": Box((-2.25, 0, -1.8), (-1.4, 2.05, -1.775), (0.27, 0.21, 0.16), casts_shadow=False),
    "picture": Box((1.1, 1.35, -1.8), (1.75, 1.9, -1.77), (0.10, 0.16, 0.19), casts_shadow=False),
}
"""What stands behind a person seen from the front."""

ROOM_ASIDE = {
    "floor": FLOOR,
    "wall": ROOM_BEHIND["wall"],
    "skirting": ROOM_BEHIND["skirting"],
    "side_wall": Box((-1.85, 0, -5), (-1.8, 3.4, 6), _WALL, casts_shadow=False),
    "side_skirting": Box((-1.8, 0, -5), (-1.78, 0.1, 6), _SKIRTING, casts_shadow=False),
}
"""What stands behind a person seen from the left side."""


def bench(top_y: float) -> dict[str, Box]:
    """Return the parts of a treatment bench whose top is at `top_y`."""
    under = top_y - 0.09
    parts = {"bench": Box((-0.45, under, -0.34), (0.45, top_y, 0.27), (0.10, 0.12, 0.13), hides_sky=True)}
    for side, x in (("left", 0.36), ("right", -0.42)):
        for end, z in (("back", -0.30), ("front", 0.14)):
            parts[f"bench_{side}_{end}"] = Box((x, 0, z), (x + 0.06, under, z + 0.06), (0.3, 0.3, 0.3))
    return parts


def box_mesh(box: Box) -> tuple[Array, Array, Surface]:
    """Return vertices (four a side), normals and faces of a box."""
    low, high = np.array(box.low, float), np.array(box.high, float)
    corners = []
    for axis in range(3):
        for end in (0, 1):
            square = [(0, 0), (1, 0), (1, 1), (0, 1)] if end else [(0, 1), (1, 1), (1, 0), (0, 0)]
            for u, v in square:
                share = np.zeros(3)
                share[axis], share[(axis + 1) % 3], share[(axis + 2) % 3] = end, u, v
                corners.append(low + share * (high - low))
    vertices = np.array(corners)
    faces = np.arange(len(vertices)).reshape(-1, 4)
    normals = np.repeat(np.cross(vertices[1::4] - vertices[0::4], vertices[2::4] - vertices[0::4]), 4, axis=0)
    return vertices, normals / np.linalg.norm(normals, axis=1, keepdims=True), Surface(faces, len(vertices))
