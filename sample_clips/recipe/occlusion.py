"""Ambient occlusion: which share of the sky each vertex of the person sees, in the pose now set."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from .camera import parallel_view
from .drawable import Drawable
from .programs import fill
from .rotations import Array

if TYPE_CHECKING:
    import moderngl


@dataclass(frozen=True)
class SkyLook:
    """How the sky is looked at: number of directions, size of each view, the ball it covers."""

    directions: int
    view_px: int
    centre: tuple[float, float, float]
    radius_m: float


def bake(
    context: moderngl.Context,
    depth: moderngl.Program,
    receivers: list[Drawable],
    draw_all: Callable[[], None],
    look: SkyLook,
) -> None:
    """Set the occlusion of `receivers` from depth maps taken from all round.

    Parameters
    ----------
    draw_all
        Draws the depth of everything that hides the sky.
    """
    texture = context.depth_texture((look.view_px, look.view_px))
    texture.compare_func = ""
    target = context.framebuffer(depth_attachment=texture)
    normals = [drawable.surface.normals(drawable.vertices) for drawable in receivers]
    seen = [np.zeros(drawable.surface.size) for drawable in receivers]
    total = [np.zeros(drawable.surface.size) for drawable in receivers]
    for direction in _all_round(look.directions):
        view = parallel_view(direction, look.centre, look.radius_m)
        target.use()
        target.clear(depth=1.0)
        context.enable(context.DEPTH_TEST)
        fill(depth, camera_view=view.T)
        draw_all()
        depths = np.frombuffer(texture.read(), "f4").reshape(look.view_px, look.view_px)
        for i, drawable in enumerate(receivers):
            weight = np.maximum(normals[i] @ direction, 0)
            seen[i] += weight * _visible(drawable.vertices, view, depths)
            total[i] += weight
    for drawable, share, whole in zip(receivers, seen, total, strict=True):
        open_sky = drawable.surface.smooth(share / np.maximum(whole, 1e-6), rounds=2)
        drawable.set_occlusion(np.clip(open_sky, 0.03, 1))


def _visible(vertices: Array, view: Array, depths: Array) -> Array:
    in_view = (vertices @ view[:3, :3].T + view[:3, 3]) * 0.5 + 0.5
    size = len(depths)
    column, row = np.clip((in_view[:, :2] * size).astype(int), 0, size - 1).T
    return in_view[:, 2] < depths[row, column] + 0.0035


def _all_round(count: int) -> Array:
    """Directions spread evenly over the sphere along a golden spiral."""
    number = np.arange(count) + 0.5
    turn = np.pi * (1 + 5**0.5) * number
    height = 1 - 2 * number / count
    return np.c_[np.cos(turn) * np.sqrt(1 - height**2), height, np.sin(turn) * np.sqrt(1 - height**2)]
