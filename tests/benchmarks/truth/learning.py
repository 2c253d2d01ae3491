"""Learning what the landmark models add to each reading: by maximum likelihood, across people.

A reading less its offset, over its scale, is the truth plus an error with the variance
``(noise / scale)^2 + offset_sd^2 + (scale_sd * truth)^2``; the noise is what the measure itself found in the film. Keys
whose scale goes with the view have ``scale * (1 + view * (1 - cos(angle)))`` in its place; ``view`` is held near 0 by
a normal distribution of 0.5, since foreshortening can make it -1 to 1 and few films are seen from aside. The logarithms
of the two standard deviations (as shares of the truth) are held near that of 0.02 by one of 2, so that a few readings
that happen to agree do not make them nothing.

Each body errs in its own way, so with few bodies the standard deviations are those for one more of them: from what
``n`` bodies show most likely, by ``n / (n - 1)`` to what is expected of all and by ``1 + 1 / n`` for the common bias
that is itself unsure (both of the variance), and from the normal distribution's 95 % to that of Student's t with
``n - 1`` degrees of freedom: the textbook's interval for one further value.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
import xarray as xr
from scipy.optimize import minimize
from scipy.stats import t as students_t

from review.measures.learned import bias_in, learned_elsewhere, table
from review.signals.uncertainty import NORMAL_95, Bias, Bounded
from tests.benchmarks.truth.clips import Clip
from tests.benchmarks.truth.rows import rows_of

Numbers = npt.NDArray[np.float64]

_LEAST_PEOPLE = 3
_LEAST_READINGS = 3
_VIEW_SD = 0.5
_WIDTHS = 2.0


@dataclass(frozen=True)
class Reading:
    """A number before its bias was taken off, with the key of that bias."""

    key: str
    person: str
    value: float
    noise: float
    truth: float
    view_deg: float = 0.0


@dataclass(frozen=True)
class Learned:
    """A bias, and from how much it comes."""

    bias: Bias
    readings: int
    people: int


@dataclass(frozen=True)
class _Noting(Bias):
    """No bias; notes in `views` from which angle each number was seen."""

    views: dict[float, float] = field(default_factory=dict)

    def corrected(self, reading: float, *, noise: float = 0.0, scale_sd: float = 0.0, view_deg: float = 0.0) -> Bounded:
        """Return the reading as it is."""
        number = Bias().corrected(reading, noise=noise, scale_sd=scale_sd)
        self.views[number.value] = view_deg
        return number


class _Asked(Mapping[str, Bias]):
    """A table without any bias that notes which keys were asked for, and from which angle each number was seen."""

    def __init__(self) -> None:
        self.keys_asked: set[str] = set()
        self.views: dict[float, float] = {}

    def __getitem__(self, key: str) -> Bias:
        self.keys_asked.add(key)
        return _Noting(views=self.views)

    def __contains__(self, key: object) -> bool:
        return key in table()

    def __iter__(self) -> Iterator[str]:
        return iter(table())

    def __len__(self) -> int:
        return len(table())


def readings_of(clip: Clip, tracks: xr.Dataset) -> list[Reading]:
    """Measure a film without taking any bias off; measures that use several keys at once are left out.

    So is a 0: it says that nothing was found to be read, and carries no bias.
    """
    found = []
    for check in clip.checks:
        asked = _Asked()
        with learned_elsewhere(asked):
            rows = rows_of(Clip(clip.name, clip.film, clip.about, clip.height_mm, [check]), tracks)
        for row in rows:
            if row.truth is None or not row.value or row.low is None or row.high is None:
                continue
            if len(asked.keys_asked) == 1:
                noise = (row.high - row.low) / 2 / NORMAL_95
                view_deg = asked.views.get(row.value, 0.0)
                found.append(Reading(*asked.keys_asked, clip.person, row.value, noise, row.truth, view_deg))
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
    aside = 1 - np.cos(np.radians([one.view_deg for one in readings]))
    size = float(np.sqrt(np.mean(truth**2))) or 1.0
    kind, _, viewed = fit.partition("+")

    def unfold(free: Numbers) -> Bias:
        offset, scale = (free[0] * size if kind != "scale" else 0.0), (1 + free[1] if kind != "offset" else 1.0)
        share = math.exp(free[3]) if kind != "offset" else 0.0
        return Bias(offset, size * math.exp(free[2]), scale, share, float(free[4]) if viewed else 0.0)

    def unlikely(free: Numbers) -> float:
        one = unfold(free)
        scale = one.scale * (1 + one.view * aside)
        variance = (noise / scale) ** 2 + one.offset_sd**2 + (one.scale_sd * truth) ** 2 + (1e-3 * size) ** 2
        away = (read - one.offset) / scale - truth
        held = np.sum(((free[2:4] + 4) / _WIDTHS) ** 2) / 2 + (free[4] / _VIEW_SD) ** 2 / 2
        return float(np.sum(away**2 / variance + np.log(variance)) / 2 + held)

    used = np.array([kind != "scale", kind != "offset", True, kind != "offset", bool(viewed)])
    best = _likeliest(unlikely, used)
    people = len({one.person for one in readings})
    one, wider = unfold(best), _wider(people)
    view_sd = min(_VIEW_SD, wider * _spread(unlikely, best)) if viewed else 0.0
    bias = Bias(one.offset, one.offset_sd * wider, one.scale, one.scale_sd * wider, one.view, view_sd)
    return Learned(bias, len(readings), people)


def _likeliest(unlikely: Callable[[Numbers], float], used: npt.NDArray[np.bool_]) -> Numbers:
    """Return the parameters at which `unlikely` is least, of those that are used; the others stay 0."""

    def filled(free: Numbers) -> Numbers:
        whole = np.zeros(len(used))
        whole[used] = free
        return whole

    starts = (np.array([0.0, 0.0, wide, wide, 0.0])[used] for wide in (-4, -2))
    found = [minimize(lambda free: unlikely(filled(free)), start, method="Nelder-Mead") for start in starts]
    return filled(min(found, key=lambda one: float(one.fun)).x)


def _wider(people: int) -> float:
    """Return by how much the most likely standard deviation among some people is to be widened for a further one."""
    return float(students_t.ppf(0.975, people - 1)) / NORMAL_95 * math.sqrt((people + 1) / (people - 1))


def _spread(unlikely: Callable[[Numbers], float], best: Numbers) -> float:
    """Return the standard deviation of the view's share, by how steeply other values of it are less likely."""
    step = np.eye(len(best))[4] * _VIEW_SD / 5
    bend = (unlikely(best + step) - 2 * unlikely(best) + unlikely(best - step)) / (_VIEW_SD / 5) ** 2
    return 1 / math.sqrt(bend) if bend > 0 else _VIEW_SD
