"""One moment of a person: the pose that was acted, and where everything is in it."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from .rig import Bones, Rotations
from .rotations import Array, placed

EYE_RADIUS_M = 0.0155
"""Radius of the eyeballs of the first clips' body, set by the lids of the base mesh; a human one has about 12 mm."""


@dataclass(frozen=True)
class Pose:
    """One moment of an act.

    Parameters
    ----------
    rotations, offset
        Of the bones and of the whole person.
    units
        Face unit -> weight.
    gaze
        Yaw (+ to the own left) and pitch (+ up) of both eyes in the head, degrees.
    columns
        Further truths of the moment, by the name of their column.
    """

    rotations: Rotations
    offset: Array
    units: dict[str, float] = field(default_factory=dict)
    gaze: tuple[float, float] = (0.0, 0.0)
    columns: dict[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Figure:
    """Where everything is in one moment.

    Parameters
    ----------
    parts, strands
        Vertices of each part, points of each kind of strand.
    eyes
        4 x 4 places of both eyeballs, without scaling.
    bones
        4 x 4 transforms of the bones, scaled by `size`.
    skin
        Vertices of the base mesh.
    lid_height
        Where the upper lids shade the eyeballs, in their radii above the centre.
    eye_radius_m
        Radius of the eyeballs.
    size
        Height of the person in heights of the base body.
    """

    parts: dict[str, Array]
    strands: dict[str, Array]
    eyes: dict[str, Array]
    bones: Bones
    skin: Array
    lid_height: float
    eye_radius_m: float
    size: float

    @property
    def head_axes(self) -> Array:
        """Axes of the head in the room, as columns."""
        return self.bones["head"][:3, :3] / self.size


def scaled(figure: Figure, size: float) -> Figure:
    """Return `figure` made larger by `size` about the origin of the room."""
    grow = np.diag([size, size, size, 1.0])
    return Figure(
        parts={name: points * size for name, points in figure.parts.items()},
        strands={name: points * size for name, points in figure.strands.items()},
        eyes={side: placed(eye[:3, :3], eye[:3, 3] * size) for side, eye in figure.eyes.items()},
        bones={bone: grow @ transform for bone, transform in figure.bones.items()},
        skin=figure.skin * size,
        lid_height=figure.lid_height,
        eye_radius_m=figure.eye_radius_m * size,
        size=size,
    )
