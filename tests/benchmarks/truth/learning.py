"""Learning what the landmark models add to each reading: by maximum likelihood, across people.

A reading is ``scale * truth + offset`` plus an error with the variance
``noise^2 + offset_sd^2 + (scale_sd * truth)^2``; the noise is what the measure itself found in the film. Each body
errs in its own way, so with few bodies the two standard deviations are widened from the normal distribution's 95 % to
that of Student's t with one degree of freedom less than there are bodies.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import xarray as xr
from scipy.optimize import minimize
from scipy.stats import t as students_t

from review.measures.learned import bias_in, learned_elsewhere, table
from review.signals.uncertainty import NORMAL_95, Bias
from tests.benchmarks.truth.clips import Clip
from tests.benchmarks.truth.rows import rows_of

Numbers = npt.NDArray[np.float64]

_LEAST_PEOPLE = 3
_LEAST_READINGS = 3


@dataclass(frozen=True)
class Reading:
    """A number before its bias was taken off, with the key of that bias."""

    key: str
    person: str
    value: float
    noise: float
    truth: float


@dataclass(frozen=True)
class Learned:
    """A bias, and from how much it comes."""

    bias: Bias
    readings: int
    people: int


class _Asked(Mapping[str, Bias]):
    """A table without any bias that notes which keys were asked for."""

    def __init__(self) -> None:
        self.keys_asked: set[str] = set()

    def __getitem__(self, key: str) -> Bias:
        self.keys_asked.add(key)
        return Bias()

    def __contains__(self, key: object) -> bool:
        return key in table()

    def __iter__(self) -> Iterator[str]:
        return iter(table())

    def __len__(self) -> int:
        return len(table())


def readings_of(clip: Clip, tracks: xr.Dataset) -> list[Reading]:
    """Measure a film without taking any bias off; measures that use several keys at once are left out."""
    found = []
    for check in clip.checks:
        asked = _Asked()
        with learned_elsewhere(asked):
            rows = rows_of(Clip(clip.name, clip.film, clip.about, clip.height_mm, [check]), tracks)
        for row in rows:
            if row.truth is None or row.value is None or row.low is None or row.high is None:
                continue
            if len(asked.keys_asked) == 1:
                noise = (row.high - row.low) / 2 / NORMAL_95
                found.append(Reading(*asked.keys_asked, clip.person, row.value, noise, row.truth))
    return found


def learned_from(readings: Iterable[Reading]) -> dict[str, Learned]:
    """Learn the bias of every key that was read often enough, on enough people."""
    by_key: dict[str, list[Reading]] = {}
    for one in readings:
        by_key.setdefault(one.key, []).append(one)
    enough = {
        key: of_key
        for key, of_key in by_key.items()
        if len(of_key) >= _LEAST_READINGS and len({one.person for one in of_key}) >= _LEAST_PEOPLE
    }
    return {key: _fitted(str(table()[key]["fit"]), of_key) for key, of_key in enough.items()}


def biases(learned: Mapping[str, Learned]) -> dict[str, Bias]:
    """Return what was learned, and the first guesses of the keys for which that was not possible.

    A packaged bias that was learned earlier, perhaps from the person who is tested now, is in it no more.
    """
    guessed = {key: bias_in(entry) for key, entry in table().items() if entry["people"] == 0}
    return guessed | {key: one.bias for key, one in learned.items()}


def _fitted(fit: str, readings: list[Reading]) -> Learned:
    read = np.array([one.value for one in readings])
    truth = np.array([one.truth for one in readings])
    noise = np.array([one.noise for one in readings])
    size = float(np.sqrt(np.mean(truth**2))) or 1.0
    people = len({one.person for one in readings})

    def unfold(free: Numbers) -> Bias:
        offset, scale = (free[0] * size if fit != "scale" else 0.0), (1 + free[1] if fit != "offset" else 1.0)
        share = math.exp(free[3]) if fit != "offset" else 0.0
        return Bias(offset, size * math.exp(free[2]), scale, share)

    def unlikely(free: Numbers) -> float:
        one = unfold(free)
        variance = noise**2 + one.offset_sd**2 + (one.scale_sd * truth) ** 2 + (1e-3 * size) ** 2
        away = (read - one.offset) / one.scale - truth
        return float(np.sum(away**2 / variance + np.log(variance)) / 2 + 1e-3 * np.sum((free[2:] + 4) ** 2))

    best = min(
        (
            minimize(unlikely, [0.0, 0.0, wide, wide], method="Nelder-Mead", options={"maxiter": 4000})
            for wide in (-4, -2)
        ),
        key=lambda found: float(found.fun),
    )
    one, wider = unfold(best.x), float(students_t.ppf(0.975, people - 1)) / NORMAL_95
    return Learned(Bias(one.offset, one.offset_sd * wider, one.scale, one.scale_sd * wider), len(readings), people)
