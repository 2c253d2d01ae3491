"""What is drawn on a frame with a comment, as it comes from outside."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

from review.domain.errors import EntryRefused
from review.domain.model import Shape, ShapeKind

_KINDS: Final[Mapping[str, ShapeKind]] = {"point": "point", "circle": "circle", "arrow": "arrow"}
_LEAST: Final = 0.002
"""Least share of the picture's width or height between the two places of a circle or an arrow."""


def read_shape(given: object) -> Shape | None:
    """Return the shape that a mapping describes; None for none.

    Parameters
    ----------
    given
        None, or ``{"kind", "x", "y"}`` and for a circle or an arrow also ``"x2", "y2"``; see `Shape`.

    Raises
    ------
    EntryRefused
        If it is not of that form, a place lies outside the picture, or a circle or an arrow has no length.
    """
    if given is None:
        return None
    if not isinstance(given, Mapping):
        raise EntryRefused(f"shape came as {type(given).__name__}; expected what was drawn. Nothing was changed.")
    name = given.get("kind")
    kind = _KINDS.get(name) if isinstance(name, str) else None
    if kind is None:
        raise EntryRefused(
            "Something else came as a shape; expected a point, a circle or an arrow. Nothing was changed."
        )
    x, y = _share(given, "x"), _share(given, "y")
    if kind == "point":
        return Shape(kind, x, y)
    x2, y2 = _share(given, "x2"), _share(given, "y2")
    if max(abs(x2 - x), abs(y2 - y)) < _LEAST:
        raise EntryRefused(f"The {kind} has no length; expected two places apart. Nothing was changed; draw it larger.")
    return Shape(kind, x, y, x2, y2)


def _share(given: Mapping[object, object], name: str) -> float:
    number = given.get(name)
    fits = isinstance(number, int | float) and not isinstance(number, bool) and 0 <= number <= 1
    if not fits or not isinstance(number, int | float) or not math.isfinite(number):
        raise EntryRefused(f"{name} of a shape is none; expected a share of the picture, 0 to 1. Nothing was changed.")
    return float(number)
