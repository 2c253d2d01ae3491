"""Who plays in the clips of the studio: ten invented people of differing builds, skins, ages and clothes."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, Final

from .build import Build
from .look import DUMMY, Colour, Look

_HUMAN_EYE: Final[dict[str, Any]] = {
    "iris_radius_m": 0.00585,
    "eye_travel_m": 0.0123,
    "brow_drop_m": 0.004,
    "resting_brows": (("browInnerUp", -0.3), ("browDownLeft", 0.2), ("browDownRight", 0.2)),
}
"""The iris is 11.7 mm wide and travels on a ball of 12.3 mm radius, as in people (from memory).

The base mesh looks surprised: brows at rest are lower here, so that a landmark model sees them lie and not raised.
"""

_LIGHT: Final[Colour] = (0.55, 0.33, 0.235)
_OLIVE: Final[Colour] = (0.40, 0.235, 0.15)
_BROWN: Final[Colour] = (0.20, 0.098, 0.056)
_DARK: Final[Colour] = (0.085, 0.042, 0.027)
_DARKEST: Final[Colour] = (0.048, 0.026, 0.019)

_BLACK_HAIR: Final[Colour] = (0.010, 0.008, 0.007)
_BROWN_HAIR: Final[Colour] = (0.050, 0.028, 0.016)
_FAIR_HAIR: Final[Colour] = (0.24, 0.15, 0.075)
_GREY_HAIR: Final[Colour] = (0.30, 0.29, 0.28)
_PEPPER_HAIR: Final[Colour] = (0.085, 0.080, 0.077)

_DARK_IRIS: Final[Colour] = (0.012, 0.008, 0.006)
_BROWN_IRIS: Final[Colour] = (0.035, 0.017, 0.008)
_HAZEL_IRIS: Final[Colour] = (0.065, 0.045, 0.018)
_GREY_IRIS: Final[Colour] = (0.085, 0.105, 0.115)


def _skin(colour: Colour, word: str) -> dict[str, Any]:
    """Return skin, with lips and flush that go with it."""
    red, green, blue = colour
    lips = (0.78 * red + 0.015, 0.45 * green + 0.008, 0.52 * blue + 0.008)
    flush = (min(1.05 * red + 0.02, 1.0), 0.60 * green, 0.60 * blue)
    return {"skin": colour, "skin_word": word, "lips": lips, "flush": flush}


def _hair(colour: Colour, style: str, skin: Colour) -> dict[str, Any]:
    """Return hair, with a scalp between the colours of skin and hair."""
    of_skin = {"bald": 0.9, "cropped": 0.25, "short": 0.12}.get(style, 0.0)
    scalp = tuple(of_skin * a + (1 - of_skin) * b for a, b in zip(skin, colour, strict=True))
    return {"hair": colour, "hair_style": style, "scalp": scalp}


_PEOPLE: Final = (
    Look(
        id="p01",
        size=1.0,
        build=Build(face=(0.8, 0.1, 0.1)),
        **_skin(_LIGHT, "light"),
        **_hair(_BROWN_HAIR, "short", _LIGHT),
        iris=_BROWN_IRIS,
        shirt=(0.05, 0.14, 0.20),
        shorts=(0.035, 0.038, 0.05),
        resting_lids=0.06,
        **_HUMAN_EYE,
    ),
    Look(
        id="p02",
        size=1.0,
        build=Build(male=0.0, weight=-0.5, muscle=-0.1, face=(0.95, 0.05, 0.0)),
        build_word="slight",
        **_skin(_LIGHT, "light"),
        **_hair(_FAIR_HAIR, "bun", _LIGHT),
        iris=_GREY_IRIS,
        shirt=(0.30, 0.31, 0.33),
        shorts=(0.05, 0.055, 0.075),
        long_legs=True,
        resting_lids=0.10,
        **_HUMAN_EYE,
    ),
    Look(
        id="p03",
        size=1.0,
        build=Build(old=0.4, weight=1.0, muscle=-0.3, face=(0.6, 0.2, 0.2)),
        build_word="heavy",
        age_word="middle",
        **_skin(_OLIVE, "medium"),
        **_hair(_PEPPER_HAIR, "short", _OLIVE),
        iris=_DARK_IRIS,
        shirt=(0.16, 0.045, 0.045),
        shorts=(0.03, 0.03, 0.034),
        long_legs=True,
        glasses=True,
        **_HUMAN_EYE,
    ),
    Look(
        id="p04",
        size=1.0,
        build=Build(male=0.0, muscle=0.3, face=(0.1, 0.1, 0.8)),
        **_skin(_DARK, "dark"),
        **_hair(_BLACK_HAIR, "bun", _DARK),
        iris=_DARK_IRIS,
        shirt=(0.38, 0.30, 0.10),
        shorts=(0.10, 0.10, 0.11),
        resting_lids=0.10,
        **_HUMAN_EYE,
    ),
    Look(
        id="p05",
        size=1.0,
        build=Build(old=0.8, weight=-0.4, muscle=-0.4, face=(0.9, 0.1, 0.0)),
        build_word="slight",
        age_word="old",
        **_skin(_LIGHT, "light"),
        **_hair(_GREY_HAIR, "bald", _LIGHT),
        iris=_HAZEL_IRIS,
        shirt=(0.20, 0.26, 0.22),
        shorts=(0.09, 0.075, 0.055),
        long_sleeves=True,
        long_legs=True,
        glasses=True,
        **_HUMAN_EYE,
    ),
    Look(
        id="p06",
        size=1.0,
        build=Build(male=0.0, old=0.35, weight=0.95, muscle=-0.2, face=(0.1, 0.1, 0.8)),
        build_word="heavy",
        age_word="middle",
        **_skin(_BROWN, "dark"),
        **_hair(_BLACK_HAIR, "bob", _BROWN),
        iris=_DARK_IRIS,
        shirt=(0.10, 0.20, 0.13),
        shorts=(0.030, 0.034, 0.05),
        long_legs=True,
        resting_lids=0.12,
        **_HUMAN_EYE,
    ),
    Look(
        id="p07",
        size=1.0,
        build=Build(muscle=0.6, height=0.18, face=(0.0, 0.1, 0.9)),
        build_word="tall",
        **_skin(_DARKEST, "dark"),
        **_hair(_BLACK_HAIR, "cropped", _DARKEST),
        iris=_DARK_IRIS,
        shirt=(0.55, 0.55, 0.53),
        shorts=(0.05, 0.07, 0.14),
        resting_lids=0.06,
        **_HUMAN_EYE,
    ),
    Look(
        id="p08",
        size=1.0,
        build=Build(male=0.0, old=0.75, height=-0.08, weight=0.2, face=(0.3, 0.7, 0.0)),
        build_word="short",
        age_word="old",
        **_skin(_OLIVE, "medium"),
        **_hair(_GREY_HAIR, "bob", _OLIVE),
        iris=_DARK_IRIS,
        shirt=(0.22, 0.12, 0.22),
        shorts=(0.04, 0.04, 0.045),
        long_sleeves=True,
        long_legs=True,
        **_HUMAN_EYE,
    ),
    Look(
        id="p09",
        size=1.0,
        build=Build(weight=-0.35, height=-0.1, face=(0.1, 0.9, 0.0)),
        build_word="short",
        **_skin((0.47, 0.29, 0.19), "medium"),
        **_hair(_BLACK_HAIR, "short", _OLIVE),
        iris=_BROWN_IRIS,
        shirt=(0.035, 0.035, 0.04),
        shorts=(0.22, 0.20, 0.16),
        glasses=True,
        **_HUMAN_EYE,
    ),
    Look(
        id="p10",
        size=1.0,
        build=Build(male=0.0, old=0.15, muscle=0.2, height=0.18, face=(0.7, 0.1, 0.2)),
        build_word="tall",
        **_skin(_OLIVE, "medium"),
        **_hair(_BROWN_HAIR, "bob", _OLIVE),
        iris=_HAZEL_IRIS,
        shirt=(0.42, 0.16, 0.13),
        shorts=(0.06, 0.06, 0.065),
        resting_lids=0.10,
        **_HUMAN_EYE,
    ),
)

CAST: Final[Mapping[str, Look]] = MappingProxyType({look.id: look for look in _PEOPLE})
"""The people of the studio, ``p01`` to ``p10``; each is one invented body. All have `size` 1: metres are metres."""

LOOKS: Final[Mapping[str, Look]] = MappingProxyType({**CAST, DUMMY.id: DUMMY})
"""The people of the studio, and the dummy that stands in for one."""


def about(look: Look) -> dict[str, Any]:
    """Return what a clip's truth says of the person: id, build, skin, age, glasses."""
    return {
        "person": look.id,
        "build": look.build_word,
        "skin": look.skin_word,
        "age": look.age_word,
        "glasses": look.glasses,
    }
