"""The lights of a room, and what a phone makes of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from .look import Colour

Direction = tuple[float, float, float]


@dataclass(frozen=True)
class Lights:
    """A warm key light from the front left of the person, a cold fill light, sky and floor.

    Parameters
    ----------
    key_direction, fill_direction
        To where the light comes from.
    key_colour, fill_colour, sky_colour, ground_colour
        Linear red, green, blue.
    exposure
        How bright the picture is developed.
    """

    key_direction: Direction = (0.36, 0.80, 0.62)
    fill_direction: Direction = (-0.75, 0.25, 0.65)
    key_colour: Colour = (2.15, 2.0, 1.8)
    fill_colour: Colour = (0.55, 0.60, 0.70)
    sky_colour: Colour = (0.62, 0.66, 0.74)
    ground_colour: Colour = (0.34, 0.31, 0.28)
    exposure: float = 0.56


LIGHTS: Final[dict[str, Lights]] = {
    "even": Lights(),
    "window": Lights(
        key_direction=(0.88, 0.35, 0.42),
        fill_direction=(-0.6, 0.5, 0.6),
        key_colour=(2.5, 2.5, 2.6),
        fill_colour=(0.22, 0.22, 0.22),
        sky_colour=(0.42, 0.44, 0.48),
        ground_colour=(0.25, 0.23, 0.21),
    ),
    "dim": Lights(
        key_direction=(0.20, 0.92, 0.35),
        key_colour=(0.62, 0.58, 0.50),
        fill_colour=(0.14, 0.15, 0.17),
        sky_colour=(0.18, 0.18, 0.19),
        ground_colour=(0.10, 0.09, 0.08),
        exposure=0.80,
    ),
    "warm": Lights(
        key_direction=(-0.30, 0.85, 0.45),
        fill_direction=(0.7, 0.3, 0.6),
        key_colour=(2.35, 1.75, 1.10),
        fill_colour=(0.62, 0.48, 0.34),
        sky_colour=(0.72, 0.58, 0.42),
        ground_colour=(0.36, 0.27, 0.19),
    ),
}
"""The lights of a clip by name: as in the first clips, one window from the person's left, few lamps, warm lamps."""
