"""Who covers whom: what the picture shows of each person, from how far each is in every pixel."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .rotations import Array


@dataclass(frozen=True)
class Seen:
    """What the picture shows of one person.

    Parameters
    ----------
    pixels
        How many pixels the person would take if alone.
    box_px
        Left, top, right and bottom edge of those pixels; None without any.
    hidden
        Share of those pixels that somebody nearer covers, 0 to 1; None without any.
    """

    pixels: int
    box_px: tuple[int, int, int, int] | None
    hidden: float | None


def overlap(depths: dict[str, Array]) -> dict[str, Seen]:
    """Return what is seen of each person.

    Parameters
    ----------
    depths
        How far each person is in every pixel as if alone, shape ``(height, width)``; 1 where he or she is not.
    """
    return {
        name: _seen(depth, [other for key, other in depths.items() if key != name]) for name, depth in depths.items()
    }


def _seen(depth: Array, others: list[Array]) -> Seen:
    own = depth < 1
    pixels = int(own.sum())
    if not pixels:
        return Seen(0, None, None)
    rows, columns = (np.flatnonzero(own.any(axis=axis)) for axis in (1, 0))
    box = (int(columns[0]), int(rows[0]), int(columns[-1]) + 1, int(rows[-1]) + 1)
    covered = np.any([other < depth for other in others], axis=0) if others else np.zeros_like(own)
    return Seen(pixels, box, float((covered & own).sum() / pixels))
