"""The shader programs, and a way to set those of their inputs that they have."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from .camera import Camera, parallel_view
from .lights import Lights
from .rotations import unit

if TYPE_CHECKING:
    import moderngl

MATERIALS = ("SKIN", "SHIRT", "SHORTS", "PLAIN", "ROOM", "EYE", "LENS")

SHADOW_MAP_PX = 2048

_FOLDER = Path(__file__).parent / "shaders"


class Programs:
    """All programs of one OpenGL context.

    Parameters
    ----------
    feet
        How many feet darken the floor.
    """

    def __init__(self, context: moderngl.Context, feet: int) -> None:
        self._context = context
        names = "".join(f"#define {name} {number}\n" for number, name in enumerate(MATERIALS))
        names += f"#define FEET {feet}\n"
        light = _source("light.glsl")
        self.surface = {
            name: self._build(
                _source("surface.vert"), f"{names}#define MATERIAL {name}\n{light}{_source('surface.frag')}"
            )
            for name in MATERIALS
        }
        self.strand = self._build(_source("strand.vert"), light + _source("strand.frag"))
        self.depth = self._build(_source("depth.vert"), _source("depth.frag"))

    def _build(self, vertex: str, fragment: str) -> moderngl.Program:
        return self._context.program("#version 330\n" + vertex, "#version 330\n" + fragment)

    def set_scene(self, camera: Camera, lights: Lights) -> None:
        """Tell all programs that draw where camera and lights are."""
        towards_key = unit(lights.key_direction)
        softness = 1.6 / SHADOW_MAP_PX * (1.3 / camera.lit_radius_m) ** 0.5
        for program in (*self.surface.values(), self.strand):
            fill(
                program,
                camera_at=camera.place,
                camera_view=camera.view().T,
                light_view=parallel_view(towards_key, camera.lit_centre, camera.lit_radius_m).T,
                shadow_softness=softness,
                shadow_map=0,
                key_direction=tuple(towards_key),
                fill_direction=tuple(unit(lights.fill_direction)),
                key_colour=lights.key_colour,
                fill_colour=lights.fill_colour,
                sky_colour=lights.sky_colour,
                ground_colour=lights.ground_colour,
                exposure=lights.exposure,
            )


def fill(program: moderngl.Program, **values: Any) -> None:
    """Set those inputs that `program` has; matrices go column after column, lists of points point after point."""
    for name, value in values.items():
        if name not in program:
            continue
        if isinstance(value, np.ndarray):
            program[name].write(value.astype("f4").tobytes())
        else:
            program[name].value = value


def _source(name: str) -> str:
    return (_FOLDER / name).read_text(encoding="utf-8")
