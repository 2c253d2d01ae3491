"""The dressed person: parts to draw, and where they are in a pose."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from . import dressing, glasses, paint, strands
from .body import Body
from .build import FIRST
from .figure import EYE_RADIUS_M, Figure, Pose, scaled
from .hair import grow_hair
from .look import PARTNER, Look
from .rotations import Array, X, Y, Z, move, placed, rotation
from .surface import Faces, Surface, compact, subdivided

_EYE_DROP_M = 0.0018
_LASH_LENGTH = 0.15
_LASHES = ("helper-l-eyelashes-2", "helper-r-eyelashes-2")
_MOUTH = {
    "upper_teeth": "helper-upper-teeth",
    "lower_teeth": "helper-lower-teeth",
    "tongue": "helper-tongue",
}
_BROW_STRANDS = 1100


@dataclass
class Part:
    """A piece of the person: base vertices `ids`, subdivided by `matrix` into `surface`, with rest and paint.

    `rest` lies on the pattern body, in whose places clothes, hair and paint are laid out.
    """

    ids: NDArray[np.int64]
    matrix: sp.csr_matrix
    surface: Surface
    rest: Array
    paint: Array
    shadow: Faces | None = None


class Person:
    """The invented person, dressed.

    Parameters
    ----------
    assets
        Folder that `assets.fetch` filled.
    fine_head
        Whether the head is subdivided twice, as a close-up needs.
    hair
        Number of hairs.
    look
        How the person looks.
    levels
        How often skin and clothes are subdivided; the head of a close-up once more.
    """

    def __init__(self, assets: Path, *, fine_head: bool, hair: int, look: Look = PARTNER, levels: int = 1) -> None:
        self.look = look
        self._levels = levels
        self.body = body = Body(assets, look.build)
        self.pattern = body if look.build == FIRST else Body(assets)
        self.tailor = dressing.Tailor(self.pattern, look)
        self._tucked = self.tailor.tucked()
        self._skin_surface = Surface(body.faces_of("body"), body.size)
        self._tights_surface = Surface(self.tailor.tights, body.size)
        self._paint = paint.skin_paint(self.pattern, assets)
        self.parts: dict[str, Part] = {}
        self._make_skin(fine_head)
        self._make_clothes()
        for name, group in _MOUTH.items():
            self._add(name, body.faces_of(group), levels)
        self._add("lashes", body.faces_of(*_LASHES), 0)
        self._lash_ids = self.parts["lashes"].ids
        nearest = cKDTree(self.pattern.vertices[body.skin_ids]).query(self.pattern.vertices[self._lash_ids])[1]
        self.lash_roots = body.skin_ids[nearest]
        self._head_part = "head" if fine_head else "body"
        self.strands = self._grow(hair)
        self.eyeball, self.eyeball_surface = ball()
        self.eye_radius_m = EYE_RADIUS_M * body.eye_radius / self.pattern.eye_radius
        self.glasses = glasses.fitted(body, self.pattern) if look.glasses else None

    @property
    def height_m(self) -> float:
        """Standing height."""
        return self.body.height_m * self.look.size

    def at(self, pose: Pose) -> Figure:
        """Return where everything is in `pose`, a pose of the base body that is scaled about the room's origin."""
        bones = self.body.rig.pose(pose.rotations, pose.offset)
        skin = self.body.posed_skin(bones, self.look.at_rest(pose.units))
        drawn = self._tucked_skin(skin)
        cloth = self._tights_surface.normals(skin)
        sources = {"shirt": skin + cloth * dressing.SHIRT_GAP_M, "shorts": skin + cloth * dressing.SHORTS_GAP_M}
        parts = {name: part.matrix @ sources.get(name, drawn)[part.ids] for name, part in self.parts.items()}
        head = bones["head"]
        grown = {name: strand.posed(parts[self._head_part], head) for name, strand in self.strands.items()}
        turn = head[:3, :3] @ _eye_turn(pose.gaze, self.look.eye_travel_m / self.eye_radius_m)
        eyes = {
            side: placed(turn, move(head, centre - _EYE_DROP_M * Y)) for side, centre in self.body.eye_centres.items()
        }
        lid_height = 0.42 + 0.012 * pose.gaze[1]
        figure = Figure(parts, grown, eyes, bones, skin, lid_height, self.eye_radius_m, 1.0)
        return scaled(figure, self.look.size)

    def head_centre(self, figure: Figure) -> Array:
        """Return the middle of the skull."""
        _, eye_y, eye_z = self.body.eye_centres["left"]
        return move(figure.bones["head"], [0, eye_y + 0.01, eye_z - 0.09])

    def _tucked_skin(self, skin: Array) -> Array:
        drawn = skin.copy()
        drawn[self._tucked] -= self._skin_surface.normals(skin)[self._tucked] * dressing.TUCK_M
        drawn[self._lash_ids] = _LASH_LENGTH * skin[self._lash_ids] + (1 - _LASH_LENGTH) * skin[self.lash_roots]
        return drawn

    def _make_skin(self, fine_head: bool) -> None:
        rig = self.body.rig
        faces = self.body.faces_of("body")
        faces = faces[~self._tucked[faces].all(axis=1)]
        of_head = np.asarray(rig.weights[:, [rig.number[bone] for bone in rig.below("head")]].sum(axis=1)).ravel()
        is_head = (of_head[faces].min(axis=1) > 0.5) & fine_head
        self._add("body", faces[~is_head], self._levels)
        if fine_head:
            self._add("head", faces[is_head], self._levels + 1)

    def _make_clothes(self) -> None:
        self._add("shirt", self.tailor.shirt(), self._levels)
        self._add("shorts", self.tailor.shorts(), self._levels)
        shirt = self.parts["shirt"]
        shirt.paint[:, 0] = self.tailor.sleeve(shirt.rest)
        triangles = shirt.surface.triangles
        shirt.shadow = triangles[dressing.outside_neckline(shirt.rest[triangles].mean(axis=1))]

    def _add(self, name: str, faces: Faces, levels: int) -> None:
        ids, own_faces = compact(faces)
        matrix, surface = subdivided(own_faces, len(ids), levels)
        self.parts[name] = Part(ids, matrix, surface, matrix @ self.pattern.vertices[ids], matrix @ self._paint[ids])

    def _grow(self, hair: int) -> dict[str, strands.Hair | strands.Brows]:
        part = self.parts[self._head_part]
        own = part.matrix @ self.body.vertices[part.ids]
        ground = strands.Ground(self.pattern, part.surface, part.rest, own, self.body.eye_centres["left"])
        random = np.random.default_rng(3)
        return {
            "hair": grow_hair(ground, hair, random, self.look.hair_style),
            "brows": strands.grow_brows(ground, _BROW_STRANDS, random, self.look.brow_drop_m),
        }


def _eye_turn(gaze: tuple[float, float], travel: float) -> Array:
    """Rotation of a drawn eyeball whose iris goes as far as that of a ball `travel` times as large would."""
    turn = rotation(Y, gaze[0]) @ rotation(X, -gaze[1])
    if travel == 1:
        return turn
    x, y, _ = travel * (turn @ Z)
    pitch = np.degrees(np.arcsin(y))
    yaw = np.degrees(np.arctan2(x, np.sqrt(1 - x**2 - y**2)))
    return rotation(Y, yaw) @ rotation(X, -pitch)


def ball(around: int = 48, along: int = 32) -> tuple[Array, Surface]:
    """Return the vertices and faces of a ball of radius one with its pole along z, the gaze."""
    polar = np.repeat(np.linspace(0, np.pi, along + 1), around)
    azimuth = np.tile(np.linspace(0, 2 * np.pi, around, endpoint=False), along + 1)
    vertices = np.stack([np.sin(polar) * np.cos(azimuth), np.sin(polar) * np.sin(azimuth), np.cos(polar)], axis=1)
    i, j = (grid.ravel() for grid in np.meshgrid(np.arange(along), np.arange(around), indexing="ij"))
    nearer, further, following = i * around, (i + 1) * around, (j + 1) % around
    faces = np.stack([nearer + j, further + j, further + following, nearer + following], axis=1)
    return vertices, Surface(faces, len(vertices))
