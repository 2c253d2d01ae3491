"""How well each stretch of talk fits each step: weighted evidence at its beginning, inside, at its end, and its length.

Everything here is linear in the weights, so that they can be learned from attempts whose steps are known; see
``docs/first-pass.md``.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from review.pipeline.first_pass import seen
from review.pipeline.first_pass.evidence import OF_SIDE, OF_STEP, OF_TALK, Evidence
from review.pipeline.first_pass.order import BEGINS, MOVES, STOPS, Order
from review.signals.stretches import Fits
from review.speech.exact import SIDES

Numbers = NDArray[np.float64]
Weights = Mapping[str, float]

LONGEST: Final = 16
"""Most pieces of talk that one step holds."""

LENGTHS_S: Final = (1.5, 3.0, 5.0, 8.0, 12.0, 18.0, 28.0, 45.0)
"""Lengths of a step, in seconds, that have a weight; between two of them their weights are mixed."""

_SIDED: Final = tuple(name for side in OF_SIDE for name in (side, f"other_{side}"))
_ONSET: Final = ("always", *OF_STEP, *OF_TALK, *_SIDED[:4], "turning")
_SEEN: Final = (*seen.NAMES, "seen_side", "seen_other_side")
_INSIDE: Final = ("always", *OF_STEP, "opens", "to_partner", *_SIDED, *_SEEN)
_END: Final = ("finding", "finding_unclear", "finding_words", "pause_before", "pause_after", "to_partner", *_SIDED[4:])
_AFTER: Final = ("begins", "always", "step_words", "to_partner", "few_words", "aside")

NAMES: Final = (
    *(f"onset.{name}" for name in _ONSET),
    *(f"inside.{name}" for name in _INSIDE),
    *(f"end.{name}" for name in _END),
    *(f"after.{name}" for name in _AFTER),
    *(f"length.{seconds:g}" for seconds in LENGTHS_S),
    *(f"move.{name}" for name in (*MOVES, *BEGINS, *STOPS)),
)
"""Names of all weights."""


@dataclass(frozen=True)
class Told:
    """What is told of every stretch that may be.

    Attributes
    ----------
    order
        The states and the moves between them.
    onset, inside, end
        By name, of a piece that is the first, any, or the last of a stretch; each of shape ``(piece, state)``.
    length
        Of a stretch by its length, shape ``(length, piece, pieces held - 1)``; counts for steps alone.
    """

    order: Order
    onset: Mapping[str, Numbers]
    inside: Mapping[str, Numbers]
    end: Mapping[str, Numbers]
    length: Numbers

    @property
    def doing(self) -> NDArray[np.bool_]:
        """Whether each state is a step that is being done, shape ``(state,)``."""
        return np.array([not state.after for state in self.order.states])


def told(given: Evidence, order: Order) -> Told:
    """Lay out what is told of every stretch of a film's talk."""
    doing = np.array([not state.after for state in order.states])
    steps = np.where(doing, order.steps(), 0)
    of_step = {name: given.of_step[row][:, steps] * doing for row, name in enumerate(OF_STEP)}
    of_talk = {name: given.of_talk[row][:, None] * doing for row, name in enumerate(OF_TALK)}
    sides = _sides(given, order)
    always = np.ones((len(given.pieces), 1)) * doing
    shown = {name: given.of_seen[row][:, steps] * doing for row, name in enumerate(seen.NAMES)}
    second = np.array([state.second for state in order.states])
    every = {
        "always": always,
        **of_step,
        **of_talk,
        **sides,
        **shown,
        **_seen_sides(given, order, steps),
        "turning": given.turning[:, None] * (doing & second),
    }
    every["pause_after"] = np.append(given.of_talk[1][1:], np.log(0.1 + 1.0))[:, None] * doing
    after = _after(given, order)
    begins = after.pop("after.begins")
    return Told(
        order,
        {**{f"onset.{name}": every[name] for name in _ONSET}, "after.begins": begins},
        {
            **{f"inside.{name}": every[name] for name in _INSIDE},
            **{f"after.{name}": after[f"after.{name}"] for name in _AFTER[1:]},
        },
        {f"end.{name}": every[name] for name in _END},
        _lengths(given),
    )


def _sides(given: Evidence, order: Order) -> dict[str, Numbers]:
    mine = np.array([[state.side == side and not state.after for state in order.states] for side in SIDES], np.float64)
    others = mine[::-1]
    named = [rows @ which for rows in given.of_side for which in (mine, others)]
    return dict(zip(_SIDED, named, strict=True))


def _seen_sides(given: Evidence, order: Order, steps: NDArray[np.intp]) -> dict[str, Numbers]:
    """Return how much of what was seen speaks for each state's side, and for the other one."""
    left, right = (given.seen_side[:, steps, number] for number in range(len(SIDES)))
    on = {side: np.array([state.side == side and not state.after for state in order.states]) for side in SIDES}
    mine = left * on[SIDES[0]] + right * on[SIDES[1]]
    return {"seen_side": mine, "seen_other_side": left * on[SIDES[1]] + right * on[SIDES[0]]}


def _after(given: Evidence, order: Order) -> dict[str, Numbers]:
    after = np.array([[float(state.after) for state in order.states]])
    rows = {name: given.of_talk[row] for row, name in enumerate(OF_TALK)}
    rows["step_words"] = given.of_step[[0, 2, 3, 5]].max(axis=(0, 2))
    rows["begins"] = rows["always"] = np.ones(len(given.pieces))
    return {f"after.{name}": rows[name][:, None] * after for name in _AFTER}


def _lengths(given: Evidence) -> Numbers:
    """Return how much of each length in `LENGTHS_S` a stretch has."""
    count = len(given.pieces)
    longest = min(LONGEST, max(1, count))
    onsets, offsets = given.onsets, np.array([piece.offset_s for piece in given.pieces])
    last = np.minimum(np.arange(count)[:, None] + np.arange(longest), max(0, count - 1))
    seconds = np.log(np.maximum(0.3, offsets[last] - onsets[:, None]))
    knots = np.log(LENGTHS_S)
    eye = np.eye(len(knots))
    return np.stack([np.interp(seconds, knots, row) for row in eye])


def fits(given: Told, weights: Weights) -> Fits:
    """Return how well every stretch and every move fits, by the weights; a missing weight counts as 0."""
    order = given.order
    onset, inside, end = (_weighted(part, weights) for part in (given.onset, given.inside, given.end))
    count, states = inside.shape
    longest = given.length.shape[2]
    whole = np.concatenate([np.zeros((1, states)), np.cumsum(inside, axis=0)])
    last = np.minimum(np.arange(count)[:, None] + np.arange(longest), max(0, count - 1))
    length = np.tensordot([weights.get(f"length.{seconds:g}", 0.0) for seconds in LENGTHS_S], given.length, 1)
    lasting = whole[last + 1] - whole[:-1][:, None] + onset[:, None] + end[last] + length[:, :, None] * given.doing
    moves = np.where(order.possible, _sum(MOVES, order.moves, weights), -np.inf)
    begins = np.where(order.may_begin, _sum(BEGINS, order.begins, weights), -np.inf)
    return Fits(lasting, moves, begins, _sum(STOPS, order.stops, weights))


def _weighted(part: Mapping[str, Numbers], weights: Weights) -> Numbers:
    return np.asarray(sum(weights.get(name, 0.0) * values for name, values in part.items()))


def _sum(names: Sequence[str], values: Numbers, weights: Weights) -> Numbers:
    return np.asarray(np.tensordot([weights.get(f"move.{name}", 0.0) for name in names], values, 1))
