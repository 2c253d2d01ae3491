"""How hair lies on a head: short, cropped, a fringe around a bald head, a bob, a bun."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from .paint import scalp
from .rotations import Array, Y
from .strands import Ground, Hair, along_skin, scattered, units

_POINTS: Final = 5
_POINTS_OF_LONG: Final = 8
_JAW_M: Final = 0.088
_FACE_M: Final = 0.070
_SWEPT_BACK_M: Final = ((-0.02, 0.03, 0.07), (0.0, 0.03, 0.15))
"""Heights above the eyes, and how far before the middle of the skull hair may lie there: it goes behind the ears."""
_BUN_M: Final = 0.031
_BUN_SHARE: Final = 0.22


@dataclass(frozen=True)
class _Roots:
    """Where hairs begin: on the pattern body, on the person's own, and the skin's normals there."""

    on_pattern: Array
    own: Array
    normals: Array
    eye_y: float


@dataclass(frozen=True)
class _Skull:
    """An ellipsoid about as large as the skull, and the level of the eyes."""

    centre: Array
    radii: Array
    eye_y: float

    def level(self, points: Array) -> Array:
        """How far out points lie: 1 on the ellipsoid."""
        return np.linalg.norm((points - self.centre) / self.radii, axis=1)

    def kept_out(self, points: Array, level: Array) -> Array:
        """Move points that lie deeper than `level` straight out to it."""
        return self.centre + (points - self.centre) * np.maximum(level / self.level(points), 1)[:, None]


def grow_hair(ground: Ground, count: int, random: np.random.Generator, style: str) -> Hair:
    """Grow hair on the scalp.

    Parameters
    ----------
    style
        As in `look.Look`.
    """
    matrix = scattered(ground, lambda centres: _density(ground, centres, style), count, random)
    normals = units(matrix @ ground.surface.normals(ground.own))
    eye_y = float(ground.pattern.eye_centres["left"][1])
    roots = _Roots(matrix @ ground.rest, matrix @ ground.own, normals, eye_y)
    if style in ("bob", "bun"):
        skull = _skull(ground)
        return (
            Hair(_bob(roots, skull, random), width=2.4)
            if style == "bob"
            else Hair(_bun(roots, skull, random), width=1.4)
        )
    return Hair(_upright(roots, random, 0.25 if style in ("cropped", "bald") else 1.0))


def _density(ground: Ground, centres: Array, style: str) -> Array:
    growing = scalp(ground.pattern, centres)
    if style == "bob":
        return growing * (1 + 2 * (abs(centres[:, 0] + 0.02) < 0.015))
    if style != "bald":
        return growing
    _, eye_y, eye_z = ground.pattern.eye_centres["left"]
    top = eye_y + np.interp(eye_z - centres[:, 2], [0.06, 0.12, 0.20], [-0.02, 0.020, 0.045])
    return growing * (centres[:, 1] < top)


def _upright(roots: _Roots, random: np.random.Generator, length_share: float) -> Array:
    """Short hair: combed aside on top, down at the sides."""
    places, normals = roots.on_pattern, roots.normals
    count = len(places)
    height = np.clip((places[:, 1] - roots.eye_y) / 0.09, 0, 1)
    length = (0.010 + 0.022 * height) * (0.75 + 0.5 * random.random(count)) * length_share
    side = np.tanh((places[:, 0] + 0.025) / 0.03)
    combed = np.c_[0.45 * side * height, -0.75 + 0.55 * height, -0.35 - 0.15 * height]
    combed = along_skin(combed + 0.28 * random.standard_normal((count, 3)), normals)
    points = [roots.own - normals * 0.0015]
    for share in np.linspace(0, 1, _POINTS)[1:]:
        upright = 0.95 - 0.75 * share
        direction = normals * upright + combed * (1 - 0.35 * upright)
        points.append(points[-1] + units(direction) * (length / (_POINTS - 1))[:, None])
    return np.stack(points, axis=1)


def _bob(roots: _Roots, skull: _Skull, random: np.random.Generator) -> Array:
    """Hair that hangs to the jaw, parted on the right, off the face."""
    own, count = roots.own, len(roots.own)
    jaw_y = skull.eye_y - _JAW_M * (0.9 + 0.2 * random.random(count))
    length = np.maximum((own[:, 1] - jaw_y) * 1.12, 0.015)
    front = np.clip((own[:, 2] - skull.centre[2]) / skull.radii[2], 0, 1)
    side = np.where(own[:, 0] + 0.02 > 0.007 * random.standard_normal(count), 1.0, -1.0)
    aside = np.c_[side * (0.5 + 0.9 * front), -0.6 * np.ones(count), -0.35 * np.ones(count)]

    def direction(points: Array, share: float) -> Array:
        down = np.clip(3.0 * share + (skull.eye_y + 0.03 - points[:, 1]) / 0.05, 0, 1)[:, None]
        return units(aside * (1 - down) - Y * down)

    return _grown(roots, skull, length, direction, 0.03 + 0.11 * random.random(count))


def _bun(roots: _Roots, skull: _Skull, random: np.random.Generator) -> Array:
    """Hair combed back tightly, and a bun behind the crown made of the last share of the hairs."""
    count = len(roots.own)
    bun = skull.centre + skull.radii * np.array([0, 0.45, -1.12])
    length = np.clip(np.linalg.norm(bun - roots.own, axis=1), 0.012, 0.05)
    combed = _grown(roots, skull, length, lambda points, _: units(bun - points), 0.015 + 0.03 * random.random(count))
    wound = combed[: int(count * _BUN_SHARE)]
    axis = units(random.standard_normal((len(wound), 3)) + np.array([0, 0.5, -1.5]))
    start = units(np.cross(axis, random.standard_normal((len(wound), 3))))
    turn = np.linspace(0, 2.6, _POINTS_OF_LONG)[None, :, None]
    circle = start[:, None] * np.cos(turn) + np.cross(axis, start)[:, None] * np.sin(turn)
    wound[:] = bun + _BUN_M * (0.9 + 0.12 * random.random((len(wound), 1, 1))) * circle
    return combed


def _grown(
    roots: _Roots, skull: _Skull, length: Array, direction: Callable[[Array, float], Array], lift: Array
) -> Array:
    """Let hairs grow step by step, always outside of the skull and beside the face."""
    level = np.maximum(skull.level(roots.own), 0.9)
    points = [roots.own - roots.normals * 0.0015]
    for share in np.linspace(0, 1, _POINTS_OF_LONG)[1:]:
        step = direction(points[-1], share) * (length / (_POINTS_OF_LONG - 1))[:, None]
        grown = skull.kept_out(points[-1] + step, level + lift * min(3 * share, 1))
        foremost = skull.centre[2] + np.interp(grown[:, 1] - skull.eye_y, *_SWEPT_BACK_M)
        before_face = grown[:, 2] > foremost
        side = np.where(points[-1][:, 0] > 0, 1.0, -1.0)
        grown[:, 0] = np.where(before_face, side * np.maximum(abs(grown[:, 0]), _FACE_M), grown[:, 0])
        grown[:, 2] = np.minimum(grown[:, 2], foremost)
        points.append(grown)
    return np.stack(points, axis=1)


def _skull(ground: Ground) -> _Skull:
    hairy = ground.own[scalp(ground.pattern, ground.rest) > 0.5]
    low, high = hairy.min(axis=0), hairy.max(axis=0)
    middle_y = float(ground.eye[1]) + 0.01
    centre = np.array([0.0, middle_y, (low[2] + high[2]) / 2])
    return _Skull(centre, np.array([high[0], high[1] - middle_y, (high[2] - low[2]) / 2]), float(ground.eye[1]))
