"""How a person looks: height and colours."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

Colour = tuple[float, float, float]
"""Linear red, green, blue."""


@dataclass(frozen=True)
class Look:
    """Height and colours of one person.

    Parameters
    ----------
    size
        Height in heights of the base body; everything is scaled alike.
    """

    size: float
    skin: Colour
    hair: Colour
    shirt: Colour
    shorts: Colour


PARTNER: Final = Look(
    size=1.0,
    skin=(0.47, 0.26, 0.175),
    hair=(0.030, 0.019, 0.013),
    shirt=(0.045, 0.13, 0.19),
    shorts=(0.035, 0.038, 0.05),
)
"""The person of all clips."""

EXAMINER: Final = Look(
    size=0.94,
    skin=(0.34, 0.175, 0.112),
    hair=(0.075, 0.045, 0.026),
    shirt=(0.36, 0.085, 0.05),
    shorts=(0.25, 0.24, 0.21),
)
"""Whoever stands beside the partner: shorter, darker skin, lighter hair, red shirt, light shorts."""
