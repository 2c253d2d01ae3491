"""Weights under which the right runs of stretches are most probable (maximum conditional likelihood)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from review.pipeline.first_pass.alignment import LENGTHS_S, NAMES, Told, fits, told
from review.pipeline.first_pass.order import BEGINS, MOVES, STOPS, order_of
from review.pipeline.first_pass.seen import STATED
from review.signals.stretches import Chances, Stretch, chances
from tests.benchmarks.first_pass.attempts import Attempt, right_run

Numbers = NDArray[np.float64]

SPREAD = 1.5
"""Standard deviation that weights are expected to have around 0: keeps those small that little speaks for."""

_ROUNDS = 60


@dataclass(frozen=True)
class Lesson:
    """One attempt laid out for learning: what is told of each stretch, and how much of it the right run holds."""

    told: Told
    right: Numbers


def lesson(attempt: Attempt) -> Lesson | None:
    """Lay out an attempt; None where its right run is longer than the model allows, or nothing was heard."""
    if not attempt.evidence.pieces:
        return None
    laid = told(attempt.evidence, order_of(attempt.sheet))
    run = right_run(attempt)
    sure = _certain(laid, run)
    return None if sure is None else Lesson(laid, held(laid, sure))


def learn(lessons: Sequence[Lesson], begin: Mapping[str, float] | None = None) -> dict[str, float]:
    """Return the weights under which the right runs are most probable; none for what no lesson tells anything of."""
    right = sum((one.right for one in lessons), np.zeros(len(NAMES)))

    def loss(weights: Numbers) -> tuple[float, Numbers]:
        named = dict(zip(NAMES, weights, strict=True))
        value, slope = -float(weights @ right), -right
        for one in lessons:
            found = chances(fits(one.told, named))
            value += found.total
            slope = slope + held(one.told, found)
        return value + float(weights @ weights) / (2 * SPREAD**2), slope + weights / SPREAD**2

    first = np.array([(begin or {}).get(name, 0.0) for name in NAMES])
    found = minimize(loss, first, jac=True, method="L-BFGS-B", options={"maxiter": _ROUNDS, "ftol": 1e-5})
    silent = {name for name in NAMES if name in STATED and not any(_tells(one.told, name) for one in lessons)}
    named = zip(NAMES, np.round(found.x, 3).tolist(), strict=True)
    return {name: value for name, value in named if name not in silent}


def _tells(laid: Told, name: str) -> bool:
    return any(name in part and bool(part[name].any()) for part in (laid.onset, laid.inside, laid.end))


def held(laid: Told, found: Chances) -> Numbers:
    """Return how much of each thing with a weight the runs hold that are probable, in the order of `NAMES`."""
    count, longest, states = found.lasting.shape
    ends, covered = np.zeros((count, states)), np.zeros((count + 1, states))
    for length in range(min(longest, count)):
        mine = found.lasting[: count - length, length]
        ends[length:] += mine
        covered[: count - length] += mine
        covered[length + 1 :] -= mine
    parts = (
        (laid.onset, found.lasting.sum(axis=1)),
        (laid.inside, np.cumsum(covered[:count], axis=0)),
        (laid.end, ends),
    )
    sums = {name: float((values * chance).sum()) for part, chance in parts for name, values in part.items()}
    lengths = found.lasting[:, :, laid.doing].sum(axis=2)
    sums |= {f"length.{name:g}": float((laid.length[row] * lengths).sum()) for row, name in enumerate(LENGTHS_S)}
    order = laid.order
    moves = ((MOVES, order.moves, found.moves), (BEGINS, order.begins, found.begins), (STOPS, order.stops, found.stops))
    sums |= {
        f"move.{name}": float((of[row] * chance).sum()) for names, of, chance in moves for row, name in enumerate(names)
    }
    return np.array([sums[name] for name in NAMES])


def _certain(laid: Told, run: Sequence[Stretch]) -> Chances | None:
    """Return a run as if it were certain; None where the model does not allow it."""
    count, longest = laid.length.shape[1:]
    states = len(laid.order.states)
    lasting, moves = np.zeros((count, longest, states)), np.zeros((states, states))
    begins, stops = np.zeros(states), np.zeros(states)
    for one in run:
        if one.stop - one.first > longest:
            return None
        lasting[one.first, one.stop - one.first - 1, one.state] = 1.0
    for one, other in pairwise(run):
        moves[one.state, other.state] += 1.0
    begins[run[0].state] = stops[run[-1].state] = 1.0
    allowed = not moves[~laid.order.possible].any() and laid.order.may_begin[run[0].state]
    return Chances(0.0, lasting, moves, begins, stops) if allowed else None


def platt(sure: Sequence[tuple[float, bool]]) -> tuple[float, float]:
    """Return slope and offset by which log-odds of the model become those of being right (Platt 1999, from memory)."""
    chance = np.clip([one for one, _ in sure], 1e-6, 1 - 1e-6)
    odds, right = np.log(chance / (1 - chance)), np.array([one for _, one in sure], np.float64)

    def loss(fit: Numbers) -> float:
        log_odds = fit[0] * odds + fit[1]
        return float(
            np.logaddexp(0.0, log_odds).sum() - (right * log_odds).sum() + 0.5 * ((fit - [1.0, 0.0]) ** 2).sum()
        )

    slope, offset = minimize(loss, np.array([1.0, 0.0]), method="L-BFGS-B").x
    return float(slope), float(offset)
