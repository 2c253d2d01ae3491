"""The order of a sheet as states that follow one another: next, skipped, back, again, and the other side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from review.domain.checklist import Checklist
from review.domain.model import Side

Numbers = NDArray[np.float64]

MOVES: Final = (
    "next_step",
    "skipped_steps",
    "skipped_sections",
    "back",
    "back_steps",
    "again",
    "other_side",
    "other_side_first",
    "side_left_out",
    "begun_with_later_side",
)
"""What can be told of a move from one step to another, each with a weight."""

BEGINS: Final = ("first_skipped",)
STOPS: Final = ("last_skipped",)


@dataclass(frozen=True, slots=True)
class State:
    """A step that is being done, or what comes after it and belongs to no step.

    Attributes
    ----------
    step
        Place in the sheet's order; -1 before any step.
    side
        Whose side; None where the step has none.
    second
        Whether the other side of the same step was done just before.
    after
        Whether it is what comes after the step.
    """

    step: int
    side: Side | None = None
    second: bool = False
    after: bool = False

    def same(self, other: State) -> bool:
        """Tell whether both are the same step on the same side, whatever was done before."""
        return (self.step, self.side, self.after) == (other.step, other.side, other.after)


@dataclass(frozen=True)
class Order:
    """All states of a sheet and what is told of the moves between them.

    Attributes
    ----------
    states
        The states.
    moves
        Shape ``(what, state before, state after)``, of `MOVES`.
    possible
        Whether a state may follow another, shape ``(state before, state after)``.
    begins, stops
        Of `BEGINS` and `STOPS`, shape ``(what, state)``.
    may_begin
        Whether a state may be the first one, shape ``(state,)``.
    """

    states: tuple[State, ...]
    moves: Numbers
    possible: NDArray[np.bool_]
    begins: Numbers
    stops: Numbers
    may_begin: NDArray[np.bool_]

    def steps(self) -> NDArray[np.intp]:
        """Return the place in the sheet of each state's step, shape ``(state,)``."""
        return np.array([state.step for state in self.states], np.intp)

    def place(self, state: State) -> int:
        """Return the index of a state."""
        return self.states.index(state)


@lru_cache(maxsize=16)
def order_of(sheet: Checklist) -> Order:
    """Return the states of a sheet and what is told of the moves between them."""
    sides = [step.sides for step in sheet.steps()]
    section = [number for number, one in enumerate(sheet.sections) for _ in one.steps]
    doing = [State(place, side, second) for place, own in enumerate(sides) for side, second in _ways(own)]
    states = (State(-1, after=True), *doing, *(State(one.step, one.side, one.second, True) for one in doing))
    count = len(states)
    moves = np.zeros((len(MOVES), count, count))
    possible = np.zeros((count, count), np.bool_)
    for row, one in enumerate(states):
        for column, other in enumerate(states):
            told = _told(one, other, sides, section)
            if told is not None:
                possible[row, column] = True
                for name, value in told.items():
                    moves[MOVES.index(name), row, column] = value
    steps = np.array([state.step for state in states], np.float64)
    begins, stops = np.log1p(np.maximum(0, steps))[None], np.log1p(len(sides) - 1 - steps)[None]
    may = np.array([(state.step < 0 or not state.after) and not state.second for state in states])
    return Order(states, moves, possible, begins, stops, may)


def _ways(sides: Sequence[Side]) -> list[tuple[Side | None, bool]]:
    if len(sides) < 2:
        return [(side, False) for side in sides or (None,)]
    return [(side, second) for side in sides for second in (False, True)]


def _told(one: State, other: State, sides: Sequence[Sequence[Side]], section: Sequence[int]) -> dict[str, float] | None:
    """Return what is told of a move, None where it cannot be."""
    if other.after:
        same = (one.step, one.side, one.second) == (other.step, other.side, other.second)
        return {} if same and not one.after and other.step >= 0 else None
    if one.step == other.step:
        return _within(one, other, sides[one.step])
    if other.second:
        return None
    told = _stride(one.step, other.step, section)
    told["side_left_out"] = float(one.step >= 0 and len(sides[one.step]) > 1 and not one.second)
    told["begun_with_later_side"] = float(other.side is not None and other.side != sides[other.step][0])
    return told


def _within(one: State, other: State, sides: Sequence[Side]) -> dict[str, float] | None:
    """Return what is told of a move between the sides of a step, or of doing it once more."""
    if one.side == other.side:
        return None if other.second else {"again": 1.0}
    if not other.second:
        return None
    return {"other_side": 1.0, "other_side_first": float(one.second)}


def _stride(one: int, other: int, section: Sequence[int]) -> dict[str, float]:
    """Return what is told of a move to another step: whole sections that are left out are counted apart."""
    if other < one:
        return {"back": 1.0, "back_steps": float(np.log(one - other))}
    begun = section[one] if one >= 0 else -1
    between = [section[place] for place in range(one + 1, other)]
    left_out = [place for place in between if begun < place < section[other]]
    single = len(between) - len(left_out)
    told = {"skipped_steps": float(np.log1p(single)), "skipped_sections": float(len(set(left_out)))}
    return {**told, "next_step": float(single == 0)}
