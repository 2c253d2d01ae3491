"""Quick movements out of rest that come back: what a tendon reflex looks like in a curve over time."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from review.signals.filtering import speed

Series = npt.NDArray[np.float64]

RISE_S = 0.35
"""Longest time from the start of the quick movement to its height."""

RETURN_SHARE = 0.3
"""Least share of the movement that must come back, so that a change of position is none."""

RETURN_S = 1.0
QUIET_S = 0.3
"""How long before its onset a limb must have been at rest."""

_LEAST_QUIET_S = 0.15
_REFRACTORY_S = 0.5
_OUTDOES = 2.0
_ONSET_SHARE = 0.06
_SLOPE_SHARE = 0.15
_VOLUNTARY_SHARE = 0.5
_END_S = 0.4


@dataclass(frozen=True, slots=True)
class Jerk:
    """One quick movement: its start, its height and its end (s), how far it went (signed), the drift before it."""

    onset_s: float
    height_s: float
    offset_s: float
    change: float
    drift: float


def jerks(times: npt.ArrayLike, curve: npt.ArrayLike, least: float, noise: float = 0.0) -> tuple[Jerk, ...]:
    """Find the quick movements of a smoothed curve that start out of rest and come back.

    A movement is a run of one direction that goes at least `least` within `RISE_S` and of which `RETURN_SHARE` comes
    back within `RETURN_S`. The curve before it may have drifted by no more than half of the movement in the 0.3 s
    before; what follows a movement within half a second of its height belongs to it (swinging back, pendulum), unless
    it is twice as large. A movement in the first 0.15 s of the curve is left out: nothing says that it began at rest.

    Parameters
    ----------
    times, curve
        Clock in seconds (rising) and smoothed samples, shape ``(time,)``, without NaN.
    least
        Least movement, in the unit of the curve.
    noise
        Standard deviation of the noise left on the curve, same unit: the onset is where the curve leaves its rest by
        more than 2.5 of it and 0.06 of the movement, between samples by a straight line.
    """
    clock, values = np.asarray(times, np.float64), np.asarray(curve, np.float64)
    found: list[Jerk] = []
    busy_until, before = -np.inf, 0.0
    for first, last in _one_way(clock, values):
        one = _jerk(clock, values, first, last, least, noise)
        if one is None:
            continue
        free = one.onset_s >= busy_until or abs(one.change) >= _OUTDOES * before
        out_of_rest = free and one.onset_s >= clock[0] + _LEAST_QUIET_S
        if out_of_rest and _is_quick(one) and _comes_back(clock, values, last, one.change):
            found.append(one)
        busy_until, before = max(busy_until, one.height_s + _REFRACTORY_S), abs(one.change)
    return tuple(found)


def _one_way(clock: Series, values: Series) -> list[tuple[int, int]]:
    """Return first and last index of the runs in which the curve goes one way."""
    if len(values) < 3:
        return []
    turns = np.flatnonzero(np.diff(np.sign(np.diff(values))) != 0) + 1
    edges = [0, *turns.tolist(), len(values) - 1]
    return [(one, other) for one, other in pairwise(edges) if other > one]


def _jerk(clock: Series, values: Series, first: int, last: int, least: float, noise: float) -> Jerk | None:
    """Make a movement out of a run, beginning where it gets quick; None if it is too small."""
    if abs(values[last] - values[first]) < least:
        return None
    pace = np.abs(speed(clock[first : last + 1], values[first : last + 1]))
    fast = first + int(np.argmax(pace))
    slow = np.flatnonzero(pace[: fast - first + 1] < _SLOPE_SHARE * pace.max())
    start = first + int(slow[-1]) if len(slow) else first
    before = (clock >= clock[start] - QUIET_S) & (clock <= clock[start])
    rest = float(np.median(values[before]))
    change = float(values[last] - rest)
    if abs(change) < least:
        return None
    onset = _leaves(clock, values, (start, last), rest, max(_ONSET_SHARE * abs(change), 2.5 * noise))
    steady = values[before & (clock <= onset)]
    drift = float(np.ptp(steady)) if len(steady) else 0.0
    return Jerk(onset, float(clock[last]), _halfway_back(clock, values, last, rest, change), change, drift)


def _leaves(clock: Series, values: Series, span: tuple[int, int], rest: float, level: float) -> float:
    start, last = span
    away = np.abs(values[start : last + 1] - rest)
    out = int(np.argmax(away > level))
    place = start + out
    if out == 0 or away[out] <= away[out - 1]:
        return float(clock[place])
    share = (level - away[out - 1]) / (away[out] - away[out - 1])
    return float(clock[place - 1] + share * (clock[place] - clock[place - 1]))


def _halfway_back(clock: Series, values: Series, last: int, rest: float, change: float) -> float:
    back = np.flatnonzero((values[last:] - rest) * np.sign(change) <= abs(change) / 2)
    return float(clock[last + back[0]]) if len(back) else float(clock[-1])


def _is_quick(one: Jerk) -> bool:
    return one.height_s - one.onset_s <= RISE_S and one.drift <= _VOLUNTARY_SHARE * abs(one.change)


def _comes_back(clock: Series, values: Series, last: int, change: float) -> bool:
    """Whether enough of the movement comes back; a curve that ends before one could tell counts as coming back."""
    after = values[last:][clock[last:] <= clock[last] + RETURN_S]
    back = float(np.max((values[last] - after) * np.sign(change)))
    return back >= RETURN_SHARE * abs(change) or clock[-1] - clock[last] < _END_S
