"""Curves over time of which every movement is made."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

Keys = Sequence[tuple[float, float]]
"""Moments in seconds and the value held or passed at each."""

Sines = Sequence[tuple[float, float, float]]
"""Frequency in Hz, amplitude and phase in radians of each sine."""


def ease(progress: float) -> float:
    """Return the minimum-jerk course from 0 to 1, flat outside of 0 to 1.

    References
    ----------
    Flash T, Hogan N (1985). J Neurosci 5(7):1688-1703 (cited from memory).
    """
    x = min(max(progress, 0.0), 1.0)
    return x**3 * (10 - 15 * x + 6 * x**2)


def keyed(time_s: float, keys: Keys) -> float:
    """Return the value at `time_s` of a curve that eases from key to key."""
    if time_s <= keys[0][0]:
        return keys[0][1]
    for (start, before), (end, after) in pairwise(keys):
        if time_s <= end:
            return before + (after - before) * ease((time_s - start) / (end - start))
    return keys[-1][1]


def pulse(time_s: float, rise_s: float, fall_s: float, ramp_s: float) -> float:
    """Return a course 0 - 1 - 0 that starts to rise at `rise_s` and to fall at `fall_s`, each within `ramp_s`."""
    return ease((time_s - rise_s) / ramp_s) * (1 - ease((time_s - fall_s) / ramp_s))


def arc(time_s: float, start_s: float, end_s: float) -> float:
    """Return a bump 0 - 1 - 0 between two moments (sine squared)."""
    progress = min(max((time_s - start_s) / (end_s - start_s), 0.0), 1.0)
    return float(np.sin(np.pi * progress) ** 2)


def sines(time_s: float, parts: Sines) -> float:
    """Return the sum of the sines at `time_s`."""
    return float(sum(size * np.sin(2 * np.pi * hertz * time_s + phase) for hertz, size, phase in parts))


def with_rms(parts: Sines, rms: float) -> list[tuple[float, float, float]]:
    """Scale sines of differing frequencies so that their sum has this root mean square in the long run."""
    now = np.sqrt(sum(size**2 for _, size, _ in parts) / 2)
    return [(hertz, size * rms / now, phase) for hertz, size, phase in parts]
