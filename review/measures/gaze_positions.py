"""Where the eyes were held: the six cardinal positions and the centre, told apart from a gaze curve."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import numpy.typing as npt
import scipy

from review.domain.model import Side
from review.measures.face_view import shares
from review.signals.runs import Run, runs_above, true_runs

Series = npt.NDArray[np.float64]
Position = Literal["left", "left_up", "left_down", "right", "right_up", "right_down", "centre"]

CARDINAL: Final[tuple[Position, ...]] = ("left", "left_up", "left_down", "right", "right_up", "right_down")
"""The six positions of the examined person's own left and right."""

_NAMES: Final[dict[tuple[Side, int], Position]] = {
    ("left", 0): "left",
    ("left", 1): "left_up",
    ("left", -1): "left_down",
    ("right", 0): "right",
    ("right", 1): "right_up",
    ("right", -1): "right_down",
}
_SIGNS: Final[dict[Side, int]] = {"left": 1, "right": -1}

_BIN_DEG = 0.5
_KERNEL_DEG = 2.0
_CLUSTER_S = 0.25
_CLUSTER_RISE_S = 0.1
_LEVEL_REACH_DEG = 6.0
_HALFWAY_LEAST_DEG = 4.0
_SETTLED_DEG = 3.0
_BLINK_S = 0.4
_HOLE_S = 0.5


@dataclass(frozen=True, slots=True)
class Limits:
    """What counts as a hold.

    Parameters
    ----------
    sideways_deg
        Least horizontal gaze to either side.
    slack_deg
        Added to both ends of the vertical band of each position; negative makes the bands narrower.
    hold_s
        Least time.
    """

    sideways_deg: float = 8.0
    slack_deg: float = 0.0
    hold_s: float = 0.4


@dataclass(frozen=True, slots=True)
class Hold:
    """A position held: where, when, and the median gaze there (vertical from the level of the same side), deg."""

    position: Position
    run: Run
    horizontal_deg: float
    vertical_deg: float

    @property
    def side(self) -> Side | None:
        """The examined person's own side, None for the centre."""
        return None if self.position == "centre" else "left" if self.position.startswith("left") else "right"


@dataclass(frozen=True, slots=True)
class Bands:
    """Level gaze on one side and the borders to up and down, in deg of vertical gaze."""

    level: float
    down: float
    up: float


def vertical_bands(vertical: Series, seconds: Series) -> Bands:
    """Find level gaze on one side and its borders, from where the vertical gaze dwells there.

    The places where the gaze dwells are the peaks of its density (Gaussian kernel of 2 deg) worth at least 0.25 s.
    Of three or more, the one nearest to 0 that lies between others is level; of fewer, the one nearest to 0 if it is
    within 6 deg; else 0, the level of the centre. A border lies halfway to the next dwelling place, at least 4 deg
    from level, and 6 deg from level where there is none.

    Parameters
    ----------
    vertical
        Vertical gaze from the centre, deg, of the samples on this side, shape ``(n,)``, no NaN.
    seconds
        Time that each sample stands for, shape ``(n,)``.
    """
    places = _dwelling(vertical, seconds)
    between = places[1:-1] if len(places) > 2 else [place for place in places if abs(place) <= _LEVEL_REACH_DEG]
    level = min(between, key=abs) if between else 0.0
    above = min((place for place in places if place > level + _HALFWAY_LEAST_DEG), default=level + 2 * _LEVEL_REACH_DEG)
    below = max((place for place in places if place < level - _HALFWAY_LEAST_DEG), default=level - 2 * _LEVEL_REACH_DEG)
    up = max((level + above) / 2, level + _HALFWAY_LEAST_DEG)
    down = min((level + below) / 2, level - _HALFWAY_LEAST_DEG)
    return Bands(level, down, up)


def _dwelling(vertical: Series, seconds: Series) -> list[float]:
    if len(vertical) == 0:
        return []
    margin = 4 * _KERNEL_DEG
    edges = np.arange(vertical.min() - margin, vertical.max() + margin + _BIN_DEG, _BIN_DEG)
    counts, _ = np.histogram(vertical, bins=edges, weights=seconds)
    reach = np.arange(-margin, margin + _BIN_DEG, _BIN_DEG)
    density = np.convolve(counts, np.exp(-0.5 * (reach / _KERNEL_DEG) ** 2), mode="same")
    peaks, _ = scipy.signal.find_peaks(density, height=_CLUSTER_S, prominence=_CLUSTER_RISE_S)
    return [float(place) for place in edges[peaks] + _BIN_DEG / 2]


def holds(times: Series, gaze: Series, limits: Limits) -> tuple[Hold, ...]:
    """Find the cardinal positions that were held, in order of onset.

    A hold is a stretch of at least ``limits.hold_s`` in which the horizontal gaze is beyond ``limits.sideways_deg``
    and the vertical gaze stays in one band of that side (see `vertical_bands`); blinks of up to 0.4 s do not end it.
    It begins and ends where the gaze is within 3 deg of its median.

    Parameters
    ----------
    times
        Clock, shape ``(time,)``, seconds.
    gaze
        Horizontal (+ own left) and vertical (+ up) gaze from the centre, shape ``(time, 2)``, deg; NaN where unknown.
    limits
        What counts as a hold.
    """
    found = [hold for side in _SIGNS for hold in _held_on(side, times, gaze, limits)]
    return tuple(sorted(found, key=lambda hold: hold.run))


def _held_on(side: Side, times: Series, gaze: Series, limits: Limits) -> Iterator[Hold]:
    there = _SIGNS[side] * gaze[:, 0] > limits.sideways_deg
    weight = shares(times, _HOLE_S / 2)
    bands = vertical_bands(gaze[there, 1], weight[there])
    slack = limits.slack_deg
    vertical = gaze[:, 1]
    inside = {
        1: vertical > bands.up - slack,
        0: (vertical < bands.up + slack) & (vertical > bands.down - slack),
        -1: vertical < bands.down + slack,
    }
    for height, flags in inside.items():
        for run in true_runs(times, there & flags, limits.hold_s, _BLINK_S, _HOLE_S):
            hold = _settled(times, gaze, run, _NAMES[side, height], bands.level)
            if hold.run.duration_s >= limits.hold_s:
                yield hold


def _settled(times: Series, gaze: Series, run: Run, position: Position, level: float) -> Hold:
    part = gaze[run.samples]
    middle = np.nanmedian(part, axis=0)
    near = run.first + np.flatnonzero((np.abs(part - middle) <= _SETTLED_DEG).all(axis=1))
    first, last = (int(near[0]), int(near[-1])) if len(near) else (run.first, run.first)
    settled = Run(float(times[first]), float(times[last]), first, last)
    return Hold(position, settled, float(middle[0]), float(middle[1] - level))


def centre_holds(times: Series, gaze: Series, limits: Limits) -> tuple[Hold, ...]:
    """Find the stretches of at least ``limits.hold_s`` with the gaze within 6 deg of the centre both ways."""
    away = np.abs(gaze).max(axis=1)
    runs = runs_above(times, -away, -_LEVEL_REACH_DEG, limits.hold_s, _BLINK_S, _HOLE_S)
    middles = [np.nanmedian(gaze[run.samples], axis=0) for run in runs]
    return tuple(
        Hold("centre", run, float(middle[0]), float(middle[1])) for run, middle in zip(runs, middles, strict=True)
    )
