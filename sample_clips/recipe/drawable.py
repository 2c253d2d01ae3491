"""What the graphics library holds of one part: its buffers and how they are drawn."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from .rotations import Array
from .surface import Faces, Surface

if TYPE_CHECKING:
    import moderngl

_MOVING = (("position", 3), ("normal", 3))
_FIXED = (("rest_position", 3), ("paint_amounts", 4), ("occlusion", 1))


class Drawable:
    """A surface on the graphics side.

    Parameters
    ----------
    program, depth
        Programs for the picture and for shadows.
    surface
        Its faces.
    rest, paint
        What does not move: rest positions ``(vertices, 3)`` and paints ``(vertices, 4)``.
    shadow
        Triangles that throw a shadow, if not all do.
    """

    def __init__(
        self,
        context: moderngl.Context,
        program: moderngl.Program,
        depth: moderngl.Program,
        surface: Surface,
        rest: Array | None = None,
        paint: Array | None = None,
        shadow: Faces | None = None,
    ) -> None:
        self.program = program
        self.surface = surface
        self.vertices = np.zeros((surface.size, 3))
        self._rest = np.zeros((surface.size, 3)) if rest is None else rest
        self._paint = np.zeros((surface.size, 4)) if paint is None else paint
        self._moving = context.buffer(reserve=surface.size * 6 * 4, dynamic=True)
        self._fixed = context.buffer(reserve=surface.size * 8 * 4)
        indices = _index_buffer(context, surface.triangles)
        content = [(self._moving, *_layout(program, _MOVING)), (self._fixed, *_layout(program, _FIXED))]
        used = [entry for entry in content if len(entry) > 2]
        self._picture = context.vertex_array(program, used, indices)
        shadow_indices = indices if shadow is None else _index_buffer(context, shadow)
        self._depth = context.vertex_array(depth, [(self._moving, "3f 3x4", "position")], shadow_indices)
        self.set_occlusion(np.ones(surface.size))

    def move(self, vertices: Array, normals: Array | None = None) -> None:
        """Put the vertices where they are now; normals follow from the faces unless given."""
        self.vertices = vertices
        directions = self.surface.normals(vertices) if normals is None else normals
        self._moving.write(np.c_[vertices, directions].astype("f4").tobytes())

    def set_occlusion(self, open_sky: Array) -> None:
        """Set which share of the sky every vertex sees."""
        self._fixed.write(np.c_[self._rest, self._paint, open_sky].astype("f4").tobytes())

    def draw(self) -> None:
        """Draw into the picture."""
        self._picture.render()

    def draw_depth(self) -> None:
        """Draw the distance only."""
        self._depth.render()


class Ribbons:
    """Strands on the graphics side: flat ribbons that always face the camera."""

    def __init__(self, context: moderngl.Context, program: moderngl.Program, depth: moderngl.Program) -> None:
        self._context, self._program, self._depth_program = context, program, depth
        self._buffer: moderngl.Buffer | None = None

    def move(self, strands: list[tuple[Array, float]], camera_at: Array) -> None:
        """Lay the ribbons along the strands, each given with the half width of its roots in metres."""
        corners = [_ribbon_corners(points, half_width, camera_at) for points, half_width in strands]
        content = np.concatenate(corners).astype("f4").tobytes()
        if self._buffer is not None:
            self._buffer.write(content)
            return
        self._buffer = self._context.buffer(content, dynamic=True)
        indices = _index_buffer(self._context, _ribbon_triangles([points.shape[:2] for points, _ in strands]))
        layout = [(self._buffer, "3f 3f 2f", "position", "along", "root_and_shade")]
        self._picture = self._context.vertex_array(self._program, layout, indices)
        self._depth = self._context.vertex_array(self._depth_program, [(self._buffer, "3f 5x4", "position")], indices)

    def draw(self) -> None:
        """Draw into the picture."""
        self._picture.render()

    def draw_depth(self) -> None:
        """Draw the distance only."""
        self._depth.render()


def _index_buffer(context: moderngl.Context, triangles: NDArray[np.int64]) -> moderngl.Buffer:
    return context.buffer(triangles.astype("i4").tobytes())


def _layout(program: moderngl.Program, inputs: tuple[tuple[str, int], ...]) -> list[str]:
    """Format and names of those inputs that `program` has; the others are skipped as padding."""
    formats = " ".join(f"{size}f" if name in program else f"{size}x4" for name, size in inputs)
    return [formats, *(name for name, _ in inputs if name in program)]


def _ribbon_corners(points: Array, half_width: float, camera_at: Array) -> Array:
    """Two corners at every point of every strand; shape ``(corners, 8)``: place, direction, root and shade."""
    count, length = points.shape[:2]
    along = np.gradient(points, axis=1)
    along /= np.linalg.norm(along, axis=2, keepdims=True)
    aside = np.cross(along, camera_at - points)
    aside /= np.maximum(np.linalg.norm(aside, axis=2, keepdims=True), 1e-9)
    aside *= half_width * np.linspace(1, 0.35, length)[None, :, None]
    places = np.stack([points + aside, points - aside], axis=2)
    shade = np.random.default_rng(5).random(count)
    root = np.broadcast_to(np.linspace(0, 1, length)[None, :, None], (count, length, 2))
    shades = np.broadcast_to(shade[:, None, None], (count, length, 2))
    directions = np.repeat(along[:, :, None], 2, axis=2)
    return np.concatenate([places, directions, root[..., None], shades[..., None]], axis=3).reshape(-1, 8)


def _ribbon_triangles(shapes: list[tuple[int, ...]]) -> NDArray[np.int64]:
    triangles, base = [], 0
    for count, length in shapes:
        first = (np.arange(count)[:, None] * length + np.arange(length - 1)[None]).ravel() * 2 + base
        triangles.append(np.stack([first, first + 1, first + 2, first + 1, first + 3, first + 2], axis=1))
        base += count * length * 2
    return np.concatenate(triangles)
