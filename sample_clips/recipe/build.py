"""From which targets of the base mesh a body is blended."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import product
from typing import Final

_LEVELS: Final = {"min": -1.0, "average": 0.0, "max": 1.0}

Shares = tuple[tuple[str, float], ...]
"""Name of a target below ``targets/`` without its ending, and its weight."""


@dataclass(frozen=True)
class Build:
    """The make of a body.

    Parameters
    ----------
    male
        0 a woman's body, 1 a man's.
    old
        0 about 25 years, 1 about 90 (as the makers of the targets mean them).
    muscle, weight, height
        -1 least, 0 average, 1 most.
    face
        Shares of the three families of faces ``caucasian``, ``asian``, ``african``; they add up to 1.
    details
        Further targets.
    """

    male: float = 1.0
    old: float = 0.0
    muscle: float = 0.0
    weight: float = 0.0
    height: float = 0.0
    face: tuple[float, float, float] = (0.5, 0.2, 0.3)
    details: Shares = field(default=())

    def targets(self) -> dict[str, float]:
        """Return the targets that make the body, and their weights."""
        sexes = _shares(("male", self.male), ("female", 1 - self.male))
        ages = _shares(("old", self.old), ("young", 1 - self.old))
        faces = _shares(*zip(("caucasian", "asian", "african"), self.face, strict=True))
        found = {}
        for (sex, of_sex), (age, of_age) in product(sexes, ages):
            here = of_sex * of_age
            for face, share in faces:
                found[f"macrodetails/{face}-{sex}-{age}"] = here * share
            for (muscle, of_muscle), (weight, of_weight) in product(_between(self.muscle), _between(self.weight)):
                name = f"macrodetails/universal-{sex}-{age}-{muscle}muscle-{weight}weight"
                found[name] = here * of_muscle * of_weight
            if self.height:
                end = "max" if self.height > 0 else "min"
                name = f"macrodetails/height/{sex}-{age}-averagemuscle-averageweight-{end}height"
                found[name] = here * abs(self.height)
        return found | dict(self.details)


FIRST: Final = Build()
"""The body of the first clips; clothes, hair and paint are laid out on it and carried over to all others."""


def _shares(*pairs: tuple[str, float]) -> list[tuple[str, float]]:
    return [(name, share) for name, share in pairs if share > 0]


def _between(level: float) -> list[tuple[str, float]]:
    """Return the levels on both sides of `level` and how near it is to each."""
    return _shares(*((name, max(0.0, 1 - abs(level - place))) for name, place in _LEVELS.items()))


def both_sides(names: Iterable[tuple[str, float]]) -> Iterator[tuple[str, float]]:
    """Yield each target whose name holds ``{side}`` for the left and for the right half of the body."""
    for name, weight in names:
        for side in ("l", "r"):
            yield name.format(side=side), weight
