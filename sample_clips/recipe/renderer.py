"""Draws the person in the room with OpenGL in software: no graphics card and no display is needed."""

from __future__ import annotations

import moderngl
import numpy as np
from numpy.typing import NDArray

from . import occlusion
from .camera import HEIGHT_PX, WIDTH_PX, Camera, parallel_view
from .drawable import Drawable, Ribbons
from .dressing import SLEEVE_END
from .paint import eye_texture
from .person import EYE_RADIUS_M, Figure, Person
from .programs import SHADOW_MAP_PX, Lights, Programs, fill
from .room import Box, box_mesh
from .rotations import Array, move
from .surface import Surface

Picture = NDArray[np.uint8]

_SAMPLES = 4
_HAIR_COLOUR = (0.030, 0.019, 0.013)
_LOOKS = {
    "body": ("SKIN", (0.47, 0.26, 0.175)),
    "head": ("SKIN", (0.47, 0.26, 0.175)),
    "shirt": ("SHIRT", (0.045, 0.13, 0.19)),
    "shorts": ("SHORTS", (0.035, 0.038, 0.05)),
    "upper_teeth": ("PLAIN", (0.62, 0.58, 0.50)),
    "lower_teeth": ("PLAIN", (0.62, 0.58, 0.50)),
    "tongue": ("PLAIN", (0.36, 0.11, 0.10)),
    "lashes": ("PLAIN", (0.02, 0.014, 0.011)),
}


class Renderer:
    """One person before one camera.

    Parameters
    ----------
    person
        Who is drawn.
    camera
        From where.
    boxes
        The room and what stands in it, by name.
    thinnest_strand_px
        Half width below which no hair is drawn, lest it flickers.
    """

    def __init__(self, person: Person, camera: Camera, boxes: dict[str, Box], thinnest_strand_px: float) -> None:
        self.context = moderngl.create_context(standalone=True, backend="egl")
        self._person, self._camera = person, camera
        self._thinnest_m = thinnest_strand_px * camera.metres_per_px
        self._programs = Programs(self.context)
        self._lights = Lights()
        self._programs.set_scene(camera, self._lights)
        self._make_targets()
        self._parts = {name: self._drawable_part(name) for name in person.parts}
        self._eyes = {side: self._drawable("EYE", person.eyeball_surface) for side in person.body.eye_centres}
        self._ribbons = Ribbons(self.context, self._programs.strand, self._programs.depth)
        self._boxes = boxes
        self._rests = {name: box_mesh(box) for name, box in boxes.items()}
        self._still = {name: self._drawable("ROOM", surface) for name, (_, _, surface) in self._rests.items()}
        for name in boxes:
            self.place(name, np.eye(4))

    def place(self, name: str, transform: Array) -> None:
        """Put the box called `name` to where `transform` (4 x 4) takes it."""
        vertices, normals, _ = self._rests[name]
        self._still[name].move(move(transform, vertices), normals @ transform[:3, :3].T)

    def show(self, figure: Figure) -> None:
        """Take over where everything of the person is now."""
        self._figure = figure
        for name, drawable in self._parts.items():
            drawable.move(figure.parts[name])
        for side, drawable in self._eyes.items():
            turned = self._person.eyeball @ figure.eyes[side][:3, :3].T
            drawable.move(turned * EYE_RADIUS_M + figure.eyes[side][:3, 3], turned)
        strands = []
        for name, points in figure.strands.items():
            strand = self._person.strands[name]
            strands.append((points, max(strand.radius_m, self._thinnest_m) * strand.width))
        self._ribbons.move(strands, np.array(self._camera.place))

    def bake_occlusion(self, look: occlusion.SkyLook) -> None:
        """Work out which share of the sky each part sees in the pose now shown."""
        occlusion.bake(self.context, self._programs.depth, list(self._parts.values()), self._draw_sky_hiders, look)

    def draw(self, lid_height: float) -> Picture:
        """Return the picture, shape ``(height, width, 3)``.

        Parameters
        ----------
        lid_height
            Where the upper lid shades the eyeball, in its radii above the centre.
        """
        self._draw_shadow_map()
        self._canvas.use()
        self._canvas.clear(0.5, 0.5, 0.5, 1.0, depth=1.0)
        self._shadow_texture.use(0)
        self._eye_picture.use(1)
        for name, drawable in self._parts.items():
            fill(drawable.program, tint=_LOOKS[name][1], hem_height=self._hem(name), sleeve_end=SLEEVE_END)
            drawable.draw()
        self._draw_eyes(lid_height)
        self._draw_room()
        head = self._figure.bones["head"]
        _, eye_y, eye_z = self._person.body.eye_centres["left"]
        centre = tuple(move(head, [0, eye_y + 0.01, eye_z - 0.09]))
        fill(self._programs.strand, tint=_HAIR_COLOUR, hair_centre=centre, root_darkness=0.45)
        self._ribbons.draw()
        self.context.copy_framebuffer(self._plain, self._canvas)
        pixels = np.frombuffer(self._plain.read(components=3), np.uint8)
        return np.ascontiguousarray(pixels.reshape(HEIGHT_PX, WIDTH_PX, 3)[::-1])

    def _make_targets(self) -> None:
        context, size = self.context, (WIDTH_PX, HEIGHT_PX)
        self._canvas = context.framebuffer(
            [context.renderbuffer(size, 4, samples=_SAMPLES)], context.depth_renderbuffer(size, samples=_SAMPLES)
        )
        self._plain = context.framebuffer([context.renderbuffer(size, 4)])
        self._shadow_texture = context.depth_texture((SHADOW_MAP_PX, SHADOW_MAP_PX))
        self._shadow_texture.compare_func = "<="
        self._shadow_target = context.framebuffer(depth_attachment=self._shadow_texture)
        painted = (eye_texture() * 255).astype(np.uint8)
        self._eye_picture = context.texture(painted.shape[:2], 3, painted.tobytes())
        self._eye_picture.build_mipmaps()
        self._eye_picture.anisotropy = 4

    def _drawable_part(self, name: str) -> Drawable:
        part = self._person.parts[name]
        program = self._programs.surface[_LOOKS[name][0]]
        return Drawable(self.context, program, self._programs.depth, part.surface, part.rest, part.paint, part.shadow)

    def _drawable(self, material: str, surface: Surface) -> Drawable:
        return Drawable(self.context, self._programs.surface[material], self._programs.depth, surface)

    def _hem(self, name: str) -> float:
        tailor = self._person.tailor
        return {"shirt": tailor.shirt_hem_y, "shorts": tailor.shorts_hem_y}.get(name, 0.0)

    def _draw_sky_hiders(self) -> None:
        for drawable in self._parts.values():
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
        casting = [self._still[name] for name, box in self._boxes.items() if box.casts_shadow]
        for drawable in (*self._parts.values(), *self._eyes.values(), *casting, self._ribbons):
            drawable.draw_depth()

    def _draw_eyes(self, lid_height: float) -> None:
        head = self._figure.bones["head"][:3, :3]
        for side, drawable in self._eyes.items():
            eye = self._figure.eyes[side]
            fill(
                drawable.program,
                eye_picture=1,
                eye_centre=tuple(eye[:3, 3]),
                eye_radius=EYE_RADIUS_M,
                eye_axes=eye[:3, :3],
                head_axes=head,
                lid_height=lid_height,
            )
            drawable.draw()

    def _draw_room(self) -> None:
        rig, bones = self._person.body.rig, self._figure.bones
        left, right = (tuple(move(bones[f"foot.{side}"], rig.tail[f"foot.{side}"])) for side in "LR")
        for name, drawable in self._still.items():
            fill(drawable.program, tint=self._boxes[name].colour, left_foot=left, right_foot=right)
            drawable.draw()
