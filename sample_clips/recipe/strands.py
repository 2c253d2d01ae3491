"""Strands of a few points each: what they grow from, hair, brows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp

from .body import Body
from .rotations import Array, move
from .surface import Surface


@dataclass(frozen=True)
class Ground:
    """The skin that hairs grow from: its surface, where it rests on the pattern body and on the person's own.

    `eye` is the centre of the person's left eye.
    """

    pattern: Body
    surface: Surface
    rest: Array
    own: Array
    eye: Array


@dataclass(frozen=True)
class Hair:
    """Strands that move rigidly with the head: rest positions, shape ``(strands, points, 3)``."""

    points: Array
    radius_m: float = 0.00017
    width: float = 1.0

    def posed(self, skin: Array, head: Array) -> Array:
        """Return the positions for a posed `head` (4 x 4); the skin is not needed."""
        return move(head, self.points)


@dataclass(frozen=True)
class Brows:
    """Strands that grow from moving skin: roots as a matrix on the skin's vertices, shape from `offsets`."""

    roots: sp.csr_matrix
    offsets: Array
    radius_m: float = 0.00011
    width: float = 0.75

    def posed(self, skin: Array, head: Array) -> Array:
        """Return the positions for posed vertices of the head's `skin` and the posed `head` (4 x 4)."""
        return (self.roots @ skin)[:, None] + self.offsets @ head[:3, :3].T


def grow_brows(ground: Ground, count: int, random: np.random.Generator, drop_m: float) -> Brows:
    """Grow the brows above both eyes, lower by `drop_m` than the first person's."""
    _, eye_y, eye_z = ground.pattern.eye_centres["left"]
    eye_y = eye_y - drop_m

    def density(centres: Array) -> Array:
        x = abs(centres[:, 0])
        half = np.interp(x, [0.010, 0.015, 0.035, 0.050, 0.056], [0.0022, 0.0042, 0.0036, 0.0018, 0.0006])
        away = abs(centres[:, 1] - _brow_height(x, eye_y)) / half
        inside = (x > 0.010) & (x < 0.055) & (centres[:, 2] > eye_z - 0.03) & (away < 1.6)
        return inside * np.exp(-1.2 * away**2)

    roots = scattered(ground, density, count, random)
    places = roots @ ground.rest
    normals = units(roots @ ground.surface.normals(ground.own))
    x = abs(places[:, 0])
    above = np.clip((places[:, 1] - _brow_height(x, eye_y)) / 0.004, -1, 1)
    tilt = np.interp(x, [0.010, 0.02, 0.04, 0.055], [1.3, 0.7, 0.15, -0.35])
    tilt = tilt + 0.22 * random.standard_normal(count) - 0.35 * above
    flat = np.c_[np.sign(places[:, 0]) * np.cos(tilt), np.sin(tilt), np.zeros(count)]
    direction = along_skin(flat, normals)
    length = np.interp(x, [0.010, 0.02, 0.045, 0.055], [0.005, 0.0075, 0.0065, 0.004])
    length = (length * (0.7 + 0.5 * random.random(count)))[:, None]
    ends = [normals * -0.0006, direction * length * 0.5 + normals * 0.0010, direction * length + normals * 0.0008]
    return Brows(roots, np.stack(ends, axis=1))


def _brow_height(x: Array, eye_y: float) -> Array:
    arch = np.sin(np.clip((x - 0.012) / 0.040, 0, 1) * np.pi * 0.80)
    return eye_y + 0.0175 + 0.0065 * arch - 0.0015 * (x > 0.044)


def scattered(
    ground: Ground, density: Callable[[Array], Array], count: int, random: np.random.Generator
) -> sp.csr_matrix:
    """Scatter points over the pattern; return the matrix from vertices to points."""
    triangles, rest = ground.surface.triangles, ground.rest
    a, b, c = (rest[triangles[:, i]] for i in range(3))
    weight = np.linalg.norm(np.cross(b - a, c - a), axis=1) * density(rest[triangles].mean(axis=1))
    chosen = triangles[random.choice(len(triangles), count, p=weight / weight.sum())]
    shares = random.random((count, 2))
    outside = shares.sum(axis=1) > 1
    shares[outside] = 1 - shares[outside]
    mixed = np.c_[1 - shares.sum(axis=1), shares]
    rows = np.repeat(np.arange(count), 3)
    return sp.csr_matrix((mixed.ravel(), (rows, chosen.ravel())), shape=(count, len(rest)))


def along_skin(direction: Array, normals: Array) -> Array:
    """Return the unit directions along the skin that come closest to `direction`."""
    return units(direction - normals * (direction * normals).sum(axis=1, keepdims=True))


def units(vectors: Array) -> Array:
    """Return the vectors scaled to length one."""
    return vectors / np.linalg.norm(vectors, axis=1, keepdims=True)
