"""What a measure rests on, as lines, arrows, arcs and points that can be drawn over the film."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.model import Side

Kind = Literal["line", "arrow", "arc", "ring", "points", "trail"]

Series = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One thing that is drawn, in every frame.

    Parameters
    ----------
    kind
        ``line`` through all corners; ``arrow`` from the first corner to the second; ``arc`` at the second of three
        corners, between the lines to the two others; ``ring``, a line that closes; ``points``; ``trail``, the way that
        the corners took in the last second.
    words
        What it is, in plain words.
    stream
        Stream whose looked-at frames it belongs to.
    places
        Corners in the upright, unmirrored picture, shape ``(time, corner, 2)``, px; NaN where there is nothing to draw.
    reading
        What the measure reads in each frame, shape ``(time,)``, NaN where it reads nothing; None where it has no number
        of its own.
    unit
        Unit of the reading as it is said.
    side
        The examined person's own side, where it belongs to one.
    """

    kind: Kind
    words: str
    stream: str
    places: Series
    reading: Series | None = None
    unit: str = ""
    side: Side | None = None


ConstructionFunction = Callable[[xr.Dataset], tuple[Part, ...]]
