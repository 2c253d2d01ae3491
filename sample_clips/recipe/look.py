"""How a person looks: build, height, colours, hair, clothes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from .build import FIRST, Build

Colour = tuple[float, float, float]
"""Linear red, green, blue."""


@dataclass(frozen=True)
class Look:
    """How one person looks.

    Parameters
    ----------
    size
        Height in heights of the body that `body` makes; everything is scaled alike. Poses and places are meant before
        this scaling, so 1 wherever metres of the room should be metres of the pose.
    skin, hair, shirt, shorts
        Colours.
    build
        From which the body is made.
    id
        Name of the person, the same in all clips.
    build_word, skin_word, age_word
        What is written down of the person: slight, middle, heavy, tall or short; light, medium or dark; young, middle
        or old.
    lips, flush
        Colours that are mixed into the skin at the lips and where blood shines through.
    scalp
        Colour of the skin under the hair.
    iris
        Colour of the iris.
    iris_radius_m, eye_travel_m
        Radius of the iris, and of the circle on which it travels when the gaze turns; the ball that is drawn is larger
        (`figure.EYE_RADIUS_M`), because the lids of the base mesh ask for it.
    hair_style
        ``short``, ``cropped``, ``bald`` (some at the sides), ``bob`` or ``bun``.
    long_sleeves, long_legs
        Whether sleeves reach the wrists and legs of the trousers the ankles.
    glasses
        Whether the person wears glasses.
    brow_drop_m
        How much lower the brows grow than those of the first person.
    resting_brows
        Face units of the brows that the person has at rest.
    resting_lids
        By what share the lids are shut at rest; what an act shuts comes on top, up to the whole.
    """

    size: float
    skin: Colour
    hair: Colour
    shirt: Colour
    shorts: Colour
    build: Build = FIRST
    id: str = ""
    build_word: str = "middle"
    skin_word: str = "light"
    age_word: str = "young"
    lips: Colour = (0.43, 0.13, 0.105)
    flush: Colour = (0.56, 0.17, 0.12)
    scalp: Colour = (0.035, 0.022, 0.016)
    iris: Colour = (0.012, 0.008, 0.006)
    iris_radius_m: float = 0.0066
    eye_travel_m: float = 0.0155
    hair_style: str = "short"
    long_sleeves: bool = False
    long_legs: bool = False
    glasses: bool = False
    brow_drop_m: float = 0.0
    resting_brows: tuple[tuple[str, float], ...] = ()
    resting_lids: float = 0.0

    def at_rest(self, units: Mapping[str, float]) -> dict[str, float]:
        """Return an act's face units with those added that the person has at rest."""
        worn = dict(units)
        for unit, weight in self.resting_brows:
            worn[unit] = worn.get(unit, 0.0) + weight
        for unit in ("eyeBlinkLeft", "eyeBlinkRight") if self.resting_lids else ():
            worn[unit] = self.resting_lids + (1 - self.resting_lids) * worn.get(unit, 0.0)
        return worn


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

_PLASTIC: Final = (0.42, 0.38, 0.34)

DUMMY: Final = Look(
    id="dummy",
    size=1.0,
    skin=_PLASTIC,
    hair=_PLASTIC,
    hair_style="bald",
    shirt=_PLASTIC,
    shorts=_PLASTIC,
    lips=_PLASTIC,
    flush=_PLASTIC,
    scalp=_PLASTIC,
    build_word="dummy",
    skin_word="dummy",
    age_word="dummy",
    long_sleeves=True,
    long_legs=True,
)
"""A dummy in one colour, without hair or paint."""
