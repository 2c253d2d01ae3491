"""Runs of hidden states that each last for a while: which follow one another, from when to when, and how surely.

What goes on is cut into intervals between moments, and a stretch is a run of intervals in one state. How well each
possible stretch fits is given whole, so that it may rest on where it begins, on what lies inside, on where it ends and
on how long it lasts (a hidden semi-Markov model; with scores that are learned for the right path as a whole, a
semi-Markov conditional random field).

References
----------
Yu 2010, Artificial Intelligence 174(2), 215-243, doi:10.1016/j.artint.2009.11.011 (hidden semi-Markov models).
Sarawagi and Cohen 2004, Advances in Neural Information Processing Systems 17 (the conditional form).
Both from memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Scores = NDArray[np.float64]


@dataclass(frozen=True, slots=True, order=True)
class Stretch:
    """The intervals ``first <= interval < stop`` in one state."""

    first: int
    stop: int
    state: int


@dataclass(frozen=True, slots=True)
class Fits:
    """How well everything fits, as logarithms up to a constant; -inf where something cannot be.

    Attributes
    ----------
    lasting
        A stretch that begins with an interval and holds so many, shape ``(interval, intervals held - 1, state)``.
        Entries that reach beyond the last interval are not looked at.
    moves
        One state follows another, shape ``(state before, state after)``.
    begins, stops
        A state is the first one, the last one; shape ``(state,)``.
    """

    lasting: Scores
    moves: Scores
    begins: Scores
    stops: Scores


@dataclass(frozen=True, slots=True)
class Chances:
    """How probable everything is, given all that was seen.

    Attributes
    ----------
    total
        Logarithm of the sum over all runs of stretches.
    lasting
        That there is this very stretch, shape as in `Fits`.
    moves
        How often one state is expected to follow another, shape ``(state before, state after)``.
    begins, stops
        That a state is the first one, the last one; shape ``(state,)``.
    """

    total: float
    lasting: Scores
    moves: Scores
    begins: Scores
    stops: Scores


def likeliest(fits: Fits) -> tuple[Stretch, ...]:
    """Return the run of stretches that fits best, from the first interval to the last; empty without intervals.

    Raises
    ------
    ValueError
        If no run of stretches is possible.

    Examples
    --------
    >>> lasting = np.log([[[0.9, 0.1]], [[0.2, 0.8]]])
    >>> even = np.zeros(2)
    >>> likeliest(Fits(lasting, np.zeros((2, 2)), even, even))
    (Stretch(first=0, stop=1, state=0), Stretch(first=1, stop=2, state=1))
    """
    count, longest, states = fits.lasting.shape
    begun = np.full((count + 1, states), -np.inf)
    before = np.zeros((count + 1, states), np.intp)
    ended = np.full((count + 1, states), -np.inf)
    held = np.zeros((count + 1, states), np.intp)
    begun[0] = fits.begins
    for stop in range(1, count + 1):
        ways = _ending(begun, fits.lasting, stop, longest)
        held[stop] = ways.argmax(axis=0) + 1
        ended[stop] = ways.max(axis=0)
        follow = ended[stop][:, None] + fits.moves
        before[stop] = follow.argmax(axis=0)
        begun[stop] = follow.max(axis=0)
    if count and not np.isfinite(ended[count] + fits.stops).any():
        raise ValueError("no run of stretches is possible; expected scores that allow at least one")
    found: list[Stretch] = []
    stop, state = count, int(np.argmax(ended[count] + fits.stops))
    while stop > 0:
        first = stop - int(held[stop, state])
        found.append(Stretch(first, stop, state))
        stop, state = first, int(before[first, state])
    return tuple(reversed(found))


def chances(fits: Fits) -> Chances:
    """Return how probable each stretch and each move is (forward-backward algorithm, in logarithms).

    Raises
    ------
    ValueError
        If there are no intervals, or no run of stretches is possible.
    """
    count, longest, states = fits.lasting.shape
    begun, ended = _ahead(fits)
    total = float(np.logaddexp.reduce(ended[count] + fits.stops)) if count else -np.inf
    if not np.isfinite(total):
        raise ValueError("no run of stretches is possible; expected intervals, and scores that allow at least one run")
    after = np.full((count + 1, states), -np.inf)
    after[count] = fits.stops
    one, other = np.nonzero(np.isfinite(fits.moves))
    single, follow = fits.moves[one, other], np.exp(fits.moves)
    moves, lasting = np.zeros(len(one)), np.zeros_like(fits.lasting)
    coming = after[count]
    for first in range(count - 1, -1, -1):
        held = min(longest, count - first)
        ways = fits.lasting[first, :held] + after[first + 1 : first + held + 1]
        coming = _sum(ways)
        lasting[first, :held] = np.exp(begun[first] + ways - total)
        if first:
            moves += np.exp(ended[first][one] + single + coming[other] - total)
            after[first] = _through(follow, coming)
    whole = np.zeros((states, states))
    whole[one, other] = moves
    return Chances(
        total, lasting, whole, np.exp(fits.begins + coming - total), np.exp(ended[count] + fits.stops - total)
    )


def _ahead(fits: Fits) -> tuple[Scores, Scores]:
    """Return for each moment the sum over all that may lie before it: as a stretch of each state begins, and ends."""
    count, longest, states = fits.lasting.shape
    begun = np.full((count + 1, states), -np.inf)
    ended = np.full((count + 1, states), -np.inf)
    begun[0] = fits.begins
    follow = np.exp(fits.moves).T.copy()
    for stop in range(1, count + 1):
        ended[stop] = _sum(_ending(begun, fits.lasting, stop, longest))
        begun[stop] = _through(follow, ended[stop])
    return begun, ended


def _ending(begun: Scores, lasting: Scores, stop: int, longest: int) -> Scores:
    """Return how well all fits up to a moment at which a stretch ends, shape ``(intervals held - 1, state)``."""
    held = np.arange(1, min(longest, stop) + 1)
    return np.asarray(begun[stop - held] + lasting[stop - held, held - 1])


def _sum(ways: Scores) -> Scores:
    """Return the logarithm of the sum over the first axis."""
    most = ways.max(axis=0)
    shift = np.where(np.isfinite(most), most, 0.0)
    with np.errstate(divide="ignore"):
        return np.asarray(np.log(np.exp(ways - shift).sum(axis=0)) + shift)


def _through(follow: Scores, beyond: Scores) -> Scores:
    """Return the logarithm of the sum over moves, whose weights are `follow`, to all that lies beyond them."""
    most = beyond.max()
    if not np.isfinite(most):
        return np.full(len(beyond), -np.inf)
    with np.errstate(divide="ignore"):
        return np.asarray(np.log(follow @ np.exp(beyond - most)) + most)
