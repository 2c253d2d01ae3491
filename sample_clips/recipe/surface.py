"""Faces of a mesh and what follows from them: triangles, normals, smoothing, Catmull-Clark subdivision."""

from __future__ import annotations

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray

from .rotations import Array

Faces = NDArray[np.int64]


class Surface:
    """A mesh without positions.

    Parameters
    ----------
    faces
        Vertex numbers, shape ``(faces, 4)``, counter-clockwise seen from outside.
    size
        Number of vertices.
    """

    def __init__(self, faces: Faces, size: int) -> None:
        self.faces = faces
        self.size = size
        self.triangles = np.concatenate([faces[:, [0, 1, 2]], faces[:, [0, 2, 3]]])
        face_of_corner = np.repeat(np.arange(len(faces)), 4)
        ones = np.ones(faces.size)
        self._faces_at_vertex = sp.csr_matrix((ones, (faces.ravel(), face_of_corner)), shape=(size, len(faces)))

    def normals(self, vertices: Array) -> Array:
        """Return the outward unit normals at the vertices, weighted by face area; shape ``(size, 3)``."""
        corners = vertices[self.faces]
        of_faces = np.cross(corners[:, 2] - corners[:, 0], corners[:, 3] - corners[:, 1])
        summed = self._faces_at_vertex @ of_faces
        return summed / np.maximum(np.linalg.norm(summed, axis=1, keepdims=True), 1e-12)

    def smooth(self, values: Array, rounds: int) -> Array:
        """Average values at the vertices half with their neighbours', `rounds` times."""
        start, end = self.faces.ravel(), np.roll(self.faces, -1, axis=1).ravel()
        pairs = (np.r_[start, end], np.r_[end, start])
        near = sp.csr_matrix((np.ones(2 * len(start)), pairs), shape=(self.size, self.size))
        mean = sp.diags(1 / np.maximum(_row_sums(near), 1)) @ near
        for _ in range(rounds):
            values = 0.5 * values + 0.5 * (mean @ values)
        return values


def compact(faces: Faces) -> tuple[NDArray[np.int64], Faces]:
    """Return the vertices that `faces` use and the same faces numbered within that list."""
    used, renumbered = np.unique(faces, return_inverse=True)
    return used, renumbered.reshape(faces.shape)


def subdivided(faces: Faces, size: int, levels: int) -> tuple[sp.csr_matrix, Surface]:
    """Return the matrix from coarse to fine vertices and the fine surface after Catmull-Clark steps."""
    total = sp.identity(size, format="csr")
    for _ in range(levels):
        step, faces = _catmull_clark(faces, total.shape[0])
        total = step @ total
    return total.tocsr(), Surface(faces, total.shape[0])


def _row_sums(matrix: sp.spmatrix) -> Array:
    return np.asarray(matrix.sum(axis=1)).ravel()


def _catmull_clark(faces: Faces, size: int) -> tuple[sp.csr_matrix, Faces]:
    """One step; a boundary edge is split in the middle and its ends follow the crease rule."""
    count = len(faces)
    corners = np.sort(np.stack([faces, np.roll(faces, -1, axis=1)], axis=2).reshape(-1, 2), axis=1)
    edges, edge_of_corner, uses = np.unique(corners, axis=0, return_inverse=True, return_counts=True)
    edge_of_corner = edge_of_corner.reshape(count, 4)
    face_of_corner = np.repeat(np.arange(count), 4)
    face_points = sp.csr_matrix((np.full(4 * count, 0.25), (face_of_corner, faces.ravel())), shape=(count, size))
    end_rows = np.repeat(np.arange(len(edges)), 2)
    middles = sp.csr_matrix((np.full(2 * len(edges), 0.5), (end_rows, edges.ravel())), shape=(len(edges), size))
    faces_at_edge = sp.csr_matrix(
        (np.ones(4 * count), (edge_of_corner.ravel(), face_of_corner)), shape=(len(edges), count)
    )
    inner = (uses == 2).astype(float)
    edge_points = sp.diags(1 - 0.5 * inner) @ middles + sp.diags(0.25 * inner) @ (faces_at_edge @ face_points)
    moved = _moved_vertices(faces, size, edges, uses == 1, face_points, middles)
    centre = np.arange(count) + size + len(edges)
    quarters = [
        np.stack([faces[:, i], size + edge_of_corner[:, i], centre, size + edge_of_corner[:, i - 1]], axis=1)
        for i in range(4)
    ]
    return sp.vstack([moved, edge_points, face_points]).tocsr(), np.stack(quarters, axis=1).reshape(-1, 4)


def _moved_vertices(
    faces: Faces,
    size: int,
    edges: NDArray[np.int64],
    is_boundary_edge: NDArray[np.bool_],
    face_points: sp.csr_matrix,
    middles: sp.csr_matrix,
) -> sp.csr_matrix:
    """Rows for the old vertices: inner rule (F + 2 E + (n - 3) V) / n, crease rule, or unused and unmoved."""
    face_of_corner = np.repeat(np.arange(len(faces)), 4)
    at_face = sp.csr_matrix((np.ones(faces.size), (faces.ravel(), face_of_corner)), shape=(size, len(faces)))
    end_rows = np.repeat(np.arange(len(edges)), 2)
    at_edge = sp.csr_matrix((np.ones(edges.size), (edges.ravel(), end_rows)), shape=(size, len(edges)))
    n_faces, n_edges = _row_sums(at_face), _row_sums(at_edge)
    used = n_faces > 0
    crease = np.zeros(size, bool)
    crease[edges[is_boundary_edge].ravel()] = True
    weight = np.where(used & ~crease, 1 / np.maximum(n_edges, 1), 0.0)
    mean_face = sp.diags(1 / np.maximum(n_faces, 1)) @ at_face @ face_points
    mean_edge = sp.diags(1 / np.maximum(n_edges, 1)) @ at_edge @ middles
    inner = sp.diags(weight) @ (mean_face + 2 * mean_edge) + sp.diags((n_edges - 3) * weight)
    at_boundary = at_edge @ sp.diags(is_boundary_edge.astype(float))
    n_boundary = np.maximum(_row_sums(at_boundary), 1)
    half = np.where(crease, 0.5, 0.0)
    edge_rule = sp.diags(half) + sp.diags(half / n_boundary) @ at_boundary @ middles
    return inner + edge_rule + sp.diags(np.where(used, 0.0, 1.0))
