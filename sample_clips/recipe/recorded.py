"""How a person really stood: a minute of quiet standing, to be played by anybody of the cast."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Final

import numpy as np
from scipy.interpolate import CubicSpline

FILE: Final = Path(__file__).parent / "data" / "standing_20hz.csv"
"""Way of the centre of gravity to the own left and forward, mm; source and licence stand in the file beside it."""

RATE_HZ: Final = 20.0
LENGTH_S: Final = 59.95


@cache
def _course() -> CubicSpline:
    rows = np.loadtxt(FILE, delimiter=",", skiprows=1) / 1000
    return CubicSpline(np.arange(len(rows)) / RATE_HZ, rows)


def stood(time_s: float) -> tuple[float, float]:
    """Return where the centre of gravity was: metres to the own left and forward of where it was on average.

    Raises
    ------
    ValueError
        If the record does not hold that moment.
    """
    if not 0 <= time_s <= LENGTH_S:
        raise ValueError(f"{time_s} s was asked for; the record of quiet standing lasts from 0 to {LENGTH_S} s")
    left, forward = _course()(time_s)
    return float(left), float(forward)
