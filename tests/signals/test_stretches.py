"""Runs of states that last: what is likeliest and how probable each is, against all runs counted one by one."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
import pytest

from review.signals.stretches import Fits, Stretch, chances, likeliest

Run = tuple[Stretch, ...]


def _runs(count: int, longest: int, states: int, first: int = 0) -> Iterator[Run]:
    """Yield every way to cut intervals into stretches of states."""
    if first == count:
        yield ()
    for stop in range(first + 1, min(first + longest, count) + 1):
        for state in range(states):
            yield from ((Stretch(first, stop, state), *rest) for rest in _runs(count, longest, states, stop))


def _score(fits: Fits, run: Run) -> float:
    lasting = sum(fits.lasting[one.first, one.stop - one.first - 1, one.state] for one in run)
    moves = sum(fits.moves[one.state, other.state] for one, other in pairwise(run))
    return float(lasting + moves + fits.begins[run[0].state] + fits.stops[run[-1].state])


def _fits(seed: int, count: int = 5, longest: int = 3, states: int = 3) -> Fits:
    random = np.random.default_rng(seed)
    moves = random.normal(size=(states, states))
    moves[0, 1] = -np.inf
    shape = (count, longest, states)
    return Fits(random.normal(size=shape), moves, random.normal(size=states), random.normal(size=states))


@pytest.mark.parametrize("seed", range(5))
def test_likeliest_is_the_best_of_all_runs(seed: int) -> None:
    """No run of stretches has a greater score than the one that is found."""
    fits = _fits(seed)
    best = max(_runs(5, 3, 3), key=lambda run: _score(fits, run))
    assert likeliest(fits) == best


@pytest.mark.parametrize("seed", range(5))
def test_chances_are_shares_of_all_runs(seed: int) -> None:
    """The probability of a stretch, a move, a first and a last state is its share of the weight of all runs."""
    fits = _fits(seed)
    weights = {run: np.exp(_score(fits, run)) for run in _runs(5, 3, 3)}
    total = sum(weights.values())
    found = chances(fits)
    assert found.total == pytest.approx(np.log(total))
    lasting, moves = np.zeros_like(fits.lasting), np.zeros_like(fits.moves)
    begins, stops = np.zeros(3), np.zeros(3)
    for run, weight in weights.items():
        begins[run[0].state] += weight / total
        stops[run[-1].state] += weight / total
        for one in run:
            lasting[one.first, one.stop - one.first - 1, one.state] += weight / total
        for one, other in pairwise(run):
            moves[one.state, other.state] += weight / total
    np.testing.assert_allclose(found.lasting, lasting, atol=1e-12)
    np.testing.assert_allclose(found.moves, moves, atol=1e-12)
    np.testing.assert_allclose(found.begins, begins, atol=1e-12)
    np.testing.assert_allclose(found.stops, stops, atol=1e-12)


def test_each_interval_lies_in_one_stretch() -> None:
    """The probabilities of all stretches that hold an interval add up to 1, however long the film."""
    found = chances(_fits(9, count=60, longest=6, states=4))
    held = np.zeros(60)
    for first in range(60):
        for length in range(min(6, 60 - first)):
            held[first : first + length + 1] += found.lasting[first, length].sum()
    np.testing.assert_allclose(held, 1.0)


def test_what_cannot_be_is_refused() -> None:
    """Scores that allow no run at all are an error, not an invented answer."""
    fits = _fits(1)
    never = Fits(np.full_like(fits.lasting, -np.inf), fits.moves, fits.begins, fits.stops)
    with pytest.raises(ValueError, match="no run of stretches is possible"):
        likeliest(never)
    with pytest.raises(ValueError, match="no run of stretches is possible"):
        chances(never)
    assert likeliest(Fits(np.zeros((0, 2, 3)), fits.moves, fits.begins, fits.stops)) == ()
