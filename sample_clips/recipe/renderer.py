"""Draws people in the room with OpenGL in software: no graphics card and no display is needed."""

from __future__ import annotations

from functools import partial

import moderngl
import numpy as np
from numpy.typing import NDArray

from . import occlusion
from .camera import Camera, parallel_view
from .drawable import Drawable
from .drawn import DrawnPerson
from .figure import Figure
from .lights import Lights
from .person import Person
from .programs import SHADOW_MAP_PX, Programs, fill
from .room import Box, box_mesh
from .rotations import Array, move

Picture = NDArray[np.uint8]


class Renderer:
    """People before one camera, in one depth buffer and one shadow map.

    Parameters
    ----------
    people
        Who is drawn, by name.
    camera
        From where.
    boxes
        The room and what stands in it, by name.
    thinnest_strand_px
        Half width below which no hair is drawn, lest it flickers.
    lights
        What lights them.
    samples
        How often a pixel is looked at along edges: 4, or 0 for once, which halves the time.
    """

    def __init__(
        self,
        people: dict[str, Person],
        camera: Camera,
        boxes: dict[str, Box],
        thinnest_strand_px: float,
        lights: Lights,
        samples: int = 4,
    ) -> None:
        self._samples = samples
        self.context = moderngl.create_context(standalone=True, backend="egl")
        self._programs = Programs(self.context, feet=2 * len(people))
        self.aim(camera, lights)
        self._make_targets()
        self._people = {
            name: DrawnPerson(self.context, self._programs, person, camera, thinnest_strand_px)
            for name, person in people.items()
        }
        self._boxes = boxes
        self._rests = {name: box_mesh(box) for name, box in boxes.items()}
        room = self._programs.surface["ROOM"]
        self._still = {
            name: Drawable(self.context, room, self._programs.depth, surface)
            for name, (_, _, surface) in self._rests.items()
        }
        for name in boxes:
            self.place(name, np.eye(4))

    def aim(self, camera: Camera, lights: Lights) -> None:
        """Take over where the camera is now, its picture as large as before, and what lights the scene."""
        self._camera, self._lights = camera, lights
        self._programs.set_scene(camera, lights)

    def place(self, name: str, transform: Array) -> None:
        """Put the box called `name` to where `transform` (4 x 4) takes it."""
        vertices, normals, _ = self._rests[name]
        self._still[name].move(move(transform, vertices), normals @ transform[:3, :3].T)

    def show(self, figures: dict[str, Figure]) -> None:
        """Take over where everything of each person is now."""
        for name, figure in figures.items():
            self._people[name].show(figure)

    def bake_occlusion(self, look: occlusion.SkyLook) -> None:
        """Work out which share of the sky each part sees in the pose now shown, each person as if alone."""
        for drawn in self._people.values():
            parts = list(drawn.parts.values())
            occlusion.bake(self.context, self._programs.depth, parts, partial(self._draw_sky_hiders, parts), look)

    def draw(self) -> Picture:
        """Return the picture, shape ``(height, width, 3)``."""
        self._draw_shadow_map()
        self._canvas.use()
        self._canvas.clear(0.5, 0.5, 0.5, 1.0, depth=1.0)
        self._shadow_texture.use(0)
        for drawn in self._people.values():
            drawn.draw_surfaces()
        self._draw_room()
        for drawn in self._people.values():
            drawn.draw_hair()
        self.context.enable(self.context.BLEND)
        for drawn in self._people.values():
            drawn.draw_lenses()
        self.context.disable(self.context.BLEND)
        self.context.copy_framebuffer(self._plain, self._canvas)
        pixels = np.frombuffer(self._plain.read(components=3), np.uint8)
        width, height = self._camera.size_px
        return np.ascontiguousarray(pixels.reshape(height, width, 3)[::-1])

    def depths(self) -> dict[str, Array]:
        """Return how far each person is in every pixel as if alone, 0 (near) to 1 (not there)."""
        width, height = self._camera.size_px
        found = {}
        for name, drawn in self._people.items():
            self._depth_target.use()
            self._depth_target.clear(depth=1.0)
            fill(self._programs.depth, camera_view=self._camera.view().T)
            drawn.draw_depth()
            read = np.frombuffer(self._depth_texture.read(), "f4").reshape(height, width)
            found[name] = read[::-1].astype(float)
        return found

    def _make_targets(self) -> None:
        context, size = self.context, self._camera.size_px
        self._canvas = context.framebuffer(
            [context.renderbuffer(size, 4, samples=self._samples)],
            context.depth_renderbuffer(size, samples=self._samples),
        )
        self._plain = context.framebuffer([context.renderbuffer(size, 4)])
        self._shadow_texture = context.depth_texture((SHADOW_MAP_PX, SHADOW_MAP_PX))
        self._shadow_texture.compare_func = "<="
        self._shadow_target = context.framebuffer(depth_attachment=self._shadow_texture)
        self._depth_texture = context.depth_texture(size)
        self._depth_target = context.framebuffer(depth_attachment=self._depth_texture)

    def _draw_sky_hiders(self, parts: list[Drawable]) -> None:
        for drawable in parts:
            drawable.draw_depth()
        for name, drawable in self._still.items():
            if self._boxes[name].hides_sky:
                drawable.draw_depth()

    def _draw_shadow_map(self) -> None:
        self.context.enable(self.context.DEPTH_TEST)
        self._shadow_target.use()
        self._shadow_target.clear(depth=1.0)
        camera = self._camera
        view = parallel_view(self._lights.key_direction, camera.lit_centre, camera.lit_radius_m)
        fill(self._programs.depth, camera_view=view.T)
        for drawn in self._people.values():
            drawn.draw_depth()
        for name, drawable in self._still.items():
            if self._boxes[name].casts_shadow:
                drawable.draw_depth()

    def _draw_room(self) -> None:
        feet = np.array([foot for drawn in self._people.values() for foot in drawn.feet()])
        for name, drawable in self._still.items():
            fill(drawable.program, tint=self._boxes[name].colour, feet=feet)
            drawable.draw()
