"""One person on the graphics side: surfaces, eyeballs and hair, in his or her own colours."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from .camera import Camera
from .drawable import Drawable, Ribbons
from .figure import Figure
from .paint import eye_texture
from .person import Person
from .programs import Programs, fill
from .rotations import Array, move

if TYPE_CHECKING:
    import moderngl

_PARTS: Final = {
    "body": ("SKIN", "skin"),
    "head": ("SKIN", "skin"),
    "shirt": ("SHIRT", "shirt"),
    "shorts": ("SHORTS", "shorts"),
    "upper_teeth": ("PLAIN", (0.62, 0.58, 0.50)),
    "lower_teeth": ("PLAIN", (0.62, 0.58, 0.50)),
    "tongue": ("PLAIN", (0.36, 0.11, 0.10)),
    "lashes": ("PLAIN", (0.02, 0.014, 0.011)),
}
_FRAME_COLOUR: Final = (0.018, 0.016, 0.017)
"""Material of each part and its colour, or the name of its colour in the person's look."""


class DrawnPerson:
    """A person who is drawn.

    Parameters
    ----------
    thinnest_strand_px
        Half width below which no hair is drawn, lest it flickers.
    """

    def __init__(
        self, context: moderngl.Context, programs: Programs, person: Person, camera: Camera, thinnest_strand_px: float
    ) -> None:
        self._person, self._programs = person, programs
        self._camera_at = np.array(camera.place)
        self._thinnest_m = thinnest_strand_px * camera.metres_per_px
        self._colours = {
            name: getattr(person.look, colour) if isinstance(colour, str) else colour
            for name, (_, colour) in _PARTS.items()
        }
        tailor = person.tailor
        self._hems = {"shirt": tailor.shirt_hem_y, "shorts": tailor.shorts_hem_y}
        look = person.look
        self._paints = {"lips": look.lips, "flush": look.flush, "scalp": look.scalp}
        self._eye_picture = _texture(context, eye_texture(look.iris, look.iris_radius_m / person.eye_radius_m))
        surface, depth = programs.surface, programs.depth
        self.parts = {
            name: Drawable(context, surface[_PARTS[name][0]], depth, part.surface, part.rest, part.paint, part.shadow)
            for name, part in person.parts.items()
        }
        self._eyes = {
            side: Drawable(context, surface["EYE"], depth, person.eyeball_surface) for side in person.body.eye_centres
        }
        worn = person.glasses
        self._frame = worn and Drawable(context, surface["PLAIN"], depth, worn.frame_surface)
        self._lenses = worn and Drawable(context, surface["LENS"], depth, worn.lens_surface)
        self._ribbons = Ribbons(context, programs.strand, programs.depth)

    def show(self, figure: Figure) -> None:
        """Take over where everything of the person is now."""
        self._figure = figure
        for name, drawable in self.parts.items():
            drawable.move(figure.parts[name])
        for side, drawable in self._eyes.items():
            turned = self._person.eyeball @ figure.eyes[side][:3, :3].T
            drawable.move(turned * figure.eye_radius_m + figure.eyes[side][:3, 3], turned)
        self._show_glasses(figure)
        strands = []
        for name, points in figure.strands.items():
            strand = self._person.strands[name]
            strands.append((points, max(strand.radius_m, self._thinnest_m) * strand.width))
        self._ribbons.move(strands, self._camera_at)

    def _show_glasses(self, figure: Figure) -> None:
        worn, head = self._person.glasses, figure.bones["head"]
        if worn and self._frame and self._lenses:
            self._frame.move(move(head, worn.frame))
            self._lenses.move(move(head, worn.lenses), worn.lens_normals @ figure.head_axes.T)

    def feet(self) -> list[Array]:
        """Return the foremost points of the left and of the right foot."""
        rig, bones = self._person.body.rig, self._figure.bones
        return [move(bones[f"foot.{side}"], rig.tail[f"foot.{side}"]) for side in "LR"]

    def draw_surfaces(self) -> None:
        """Draw skin, clothes, mouth and eyeballs into the picture."""
        for name, drawable in self.parts.items():
            hem = self._hems.get(name, 0.0)
            sleeve_end = self._person.tailor.sleeve_end
            fill(drawable.program, tint=self._colours[name], hem_height=hem, sleeve_end=sleeve_end, **self._paints)
            drawable.draw()
        if self._frame:
            fill(self._frame.program, tint=_FRAME_COLOUR)
            self._frame.draw()
        self._eye_picture.use(1)
        for side, drawable in self._eyes.items():
            eye = self._figure.eyes[side]
            fill(
                drawable.program,
                eye_picture=1,
                eye_centre=tuple(eye[:3, 3]),
                eye_radius=self._figure.eye_radius_m,
                eye_axes=eye[:3, :3],
                head_axes=self._figure.head_axes,
                lid_height=self._figure.lid_height,
            )
            drawable.draw()

    def draw_hair(self) -> None:
        """Draw hair and brows into the picture."""
        centre = tuple(self._person.head_centre(self._figure))
        fill(self._programs.strand, tint=self._person.look.hair, hair_centre=centre, root_darkness=0.45)
        self._ribbons.draw()

    def draw_lenses(self) -> None:
        """Draw what the lenses of the glasses mirror over what is seen through them."""
        if self._lenses:
            self._lenses.draw()

    def draw_depth(self) -> None:
        """Draw the distance of everything but lenses."""
        frame = [self._frame] if self._frame else []
        for drawable in (*self.parts.values(), *self._eyes.values(), *frame):
            drawable.draw_depth()
        self._ribbons.draw_depth()


def _texture(context: moderngl.Context, painted: Array) -> moderngl.Texture:
    """Return a picture of linear colours, shape ``(height, width, 3)``, for the graphics side."""
    texture = context.texture(painted.shape[:2], 3, (painted * 255).astype(np.uint8).tobytes())
    texture.build_mipmaps()
    texture.anisotropy = 4
    return texture
