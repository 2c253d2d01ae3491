"""Glasses: a thin frame and two lenses, fitted to a face."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from .body import Body
from .rotations import Array, Y, Z, unit
from .surface import Faces, Surface

_HALF_WIDTH_M, _HALF_HEIGHT_M = 0.0250, 0.0185
_DROP_M: Final = 0.003
_AWAY_M: Final = 0.006
_TUBE_M: Final = 0.0011
_SQUARE: Final = 2.8
"""Power of the superellipse that the rims follow; 2 is an ellipse, more is squarer."""
_AROUND: Final = 28
_RINGS: Final = 4
_BULGE_M: Final = 0.13
"""Radius of the ball that the front of a lens is cut from."""

_Tubes = list[tuple[Array, bool]]


@dataclass(frozen=True)
class Glasses:
    """What is worn before the eyes, in the rest pose of the body; it goes with the head.

    Parameters
    ----------
    frame, frame_surface
        Vertices and faces of rims, bridge and arms.
    lenses, lens_normals, lens_surface
        Vertices, normals and faces of both lenses.
    """

    frame: Array
    frame_surface: Surface
    lenses: Array
    lens_normals: Array
    lens_surface: Surface


def fitted(body: Body, pattern: Body) -> Glasses:
    """Return glasses that sit before the brows and lids of `body` and rest at its temples.

    Parameters
    ----------
    pattern
        The body on which places of the face are known.
    """
    eye = body.eye_centres["left"]
    front_z = _foremost(body, pattern) + _AWAY_M
    tubes: _Tubes = []
    lenses = []
    for side in (1, -1):
        centre = np.array([side * (eye[0] + 0.001), eye[1] - _DROP_M, front_z])
        tubes.append((_rim(centre, 1.0), True))
        tubes.append((_arm(body, pattern, centre, side), False))
        lenses.append(_lens(centre))
    inner = eye[0] + 0.001 - _HALF_WIDTH_M
    across = np.linspace(-1, 1, 7)
    bridge = np.c_[across * inner, eye[1] + 0.003 + 0.002 * (1 - across**2), front_z + 0.0015 * (1 - across**2)]
    tubes.append((bridge, False))
    frame, faces = _tubes(tubes)
    (left, left_normals, lens_faces), (right, right_normals, _) = lenses
    return Glasses(
        frame,
        Surface(faces, len(frame)),
        np.concatenate([left, right]),
        np.concatenate([left_normals, right_normals]),
        Surface(np.concatenate([lens_faces, lens_faces + len(left)]), 2 * len(left)),
    )


def _foremost(body: Body, pattern: Body) -> float:
    """How far forward lids and brows reach behind the lenses."""
    skin = body.skin_ids
    eye_x, eye_y, _ = pattern.eye_centres["left"]
    x, y = abs(pattern.vertices[skin, 0]), pattern.vertices[skin, 1]
    behind = (abs(x - eye_x) < 0.017) & (abs(y - eye_y) < 0.017)
    return float(body.vertices[skin[behind], 2].max())


def _rim(centre: Array, share: float) -> Array:
    angle = np.linspace(0, 2 * np.pi, _AROUND, endpoint=False)
    cosine, sine = np.cos(angle), np.sin(angle)
    x = np.sign(cosine) * abs(cosine) ** (2 / _SQUARE) * _HALF_WIDTH_M * share
    y = np.sign(sine) * abs(sine) ** (2 / _SQUARE) * _HALF_HEIGHT_M * share
    return centre + np.c_[x, y, np.zeros(_AROUND)]


def _arm(body: Body, pattern: Body, centre: Array, side: int) -> Array:
    """From the outer end of a rim to above the ear, as wide apart as the temples."""
    skin = body.skin_ids
    eye_y, eye_z = pattern.eye_centres["left"][1:]
    places = pattern.vertices[skin]
    temple = (abs(places[:, 1] - eye_y - 0.008) < 0.012) & (places[:, 2] < eye_z - 0.02) & (places[:, 2] > eye_z - 0.07)
    wide = float(abs(body.vertices[skin[temple], 0]).max()) + 0.002
    hinge = centre + np.array([side * (_HALF_WIDTH_M + 0.001), 0.007, 0.0])
    corner = np.array([side * max(wide, abs(hinge[0]) + 0.002), hinge[1], centre[2] - 0.012])
    end = np.array([side * wide, hinge[1] - 0.002, body.eye_centres["left"][2] - 0.085])
    return np.stack([hinge, corner, (corner + end) / 2, end])


def _lens(centre: Array) -> tuple[Array, Array, Faces]:
    shares = np.linspace(0, 1, _RINGS + 1)
    flat = np.concatenate([_rim(centre, float(share)) for share in shares])
    aside = flat - centre
    forward = np.sqrt(_BULGE_M**2 - (aside**2).sum(axis=1))
    normals = np.c_[aside[:, :2], forward] / _BULGE_M
    i, j = (grid.ravel() for grid in np.meshgrid(np.arange(_RINGS), np.arange(_AROUND), indexing="ij"))
    following = (j + 1) % _AROUND
    inner, outer = i * _AROUND, (i + 1) * _AROUND
    return flat, normals, np.stack([inner + j, outer + j, outer + following, inner + following], axis=1)


def _tubes(lines: _Tubes) -> tuple[Array, Faces]:
    """Square tubes along lines, each closed to a ring or open; vertices and faces of all."""
    vertices, faces, base = [], [], 0
    for points, closed in lines:
        count = len(points)
        along = np.roll(points, -1, axis=0) - np.roll(points, 1, axis=0) if closed else np.gradient(points, axis=0)
        outward = np.stack([unit(np.cross(step, _least(step))) for step in along])
        further = np.stack([unit(np.cross(step, aside)) for step, aside in zip(along, outward, strict=True)])
        corners = [a * outward + b * further for a, b in ((1, 1), (-1, 1), (-1, -1), (1, -1))]
        vertices.append(np.stack([points + _TUBE_M * corner for corner in corners], axis=1).reshape(-1, 3))
        for i in range(count if closed else count - 1):
            here, there = base + 4 * i, base + 4 * ((i + 1) % count)
            faces += [[here + k, here + (k + 1) % 4, there + (k + 1) % 4, there + k] for k in range(4)]
        base += 4 * count
    return np.concatenate(vertices), np.array(faces)


def _least(direction: Array) -> Array:
    """Return an axis that `direction` is not along: z for the front, y for the arms."""
    return Y if abs(direction[2]) > abs(direction[0]) + abs(direction[1]) else Z
