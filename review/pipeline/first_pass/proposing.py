"""From evidence to proposals: the likeliest run of steps, each with its confidence and reasons."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from review.domain.checklist import Checklist
from review.domain.model import Interval
from review.domain.proposal import Proposal
from review.pipeline.first_pass.alignment import fits, told
from review.pipeline.first_pass.evidence import OF_STEP, OF_TALK, Evidence
from review.pipeline.first_pass.habits import Habits
from review.pipeline.first_pass.order import Order, State, order_of
from review.pipeline.first_pass.reasons import reasons
from review.pipeline.first_pass.vocabulary import vocabulary
from review.signals.stretches import Stretch, chances, likeliest

NEAR_S: Final = 2.0
"""How far the onset of a proposal may lie from the true one for it to be right, seconds."""

_SILENT_S: Final = 6.0
"""How long at most a step is taken to have been done in silence before its finding was said, seconds."""

_TOLD: Final = 0.5
"""How much must speak for a finding for it to count as one."""


def propose(given: Evidence, sheet: Checklist, habits: Habits) -> tuple[Proposal, ...]:
    """Say where the steps of a sheet seem to lie, by onset.

    A step can be proposed several times, where it seems to have been done again.
    """
    if not given.pieces:
        return ()
    order = order_of(sheet)
    whole = fits(told(given, order), habits.weights)
    begun = chances(whole).lasting.sum(axis=1)
    found = _proposed(given, sheet, habits, order, likeliest(whole), begun)
    return tuple(one for one in found if one.confidence >= habits.least)


def _proposed(
    given: Evidence,
    sheet: Checklist,
    habits: Habits,
    order: Order,
    run: Sequence[Stretch],
    begun: NDArray[np.float64],
) -> Iterator[Proposal]:
    steps, known = list(sheet.steps()), vocabulary(sheet).steps
    last: State | None = None
    for stretch in run:
        state = order.states[stretch.state]
        if state.after:
            continue
        step = steps[state.step]
        before = steps[last.step].title if last is not None and last.step == state.step - 1 else None
        inside = Interval(_onset(given, stretch, state), given.pieces[stretch.stop - 1].offset_s)
        why = reasons(given, stretch, state, step, known[state.step], before)
        yield Proposal(step.id, state.side, inside, habits.confidence(_chance(given, order, stretch, begun)), why)
        last = state


def _onset(given: Evidence, stretch: Stretch, state: State) -> float:
    """Return when a step began: with its first words or, where these are its finding, with the silence before them.

    A finding is said when the step is done: where nothing else was said before it, the step was done in silence.
    """
    said = given.pieces[stretch.first]
    step = dict(zip(OF_STEP, given.of_step[:, stretch.first, state.step], strict=True))
    found = max(step["finding"], step["finding_unclear"], step["finding_words"] - step["name_words"])
    talk = dict(zip(OF_TALK, given.of_talk[:, stretch.first], strict=True))
    if not stretch.first or found < _TOLD or talk["opens"] or talk["to_partner"]:
        return said.onset_s
    return max(given.pieces[stretch.first - 1].offset_s, said.onset_s - _SILENT_S)


def _chance(given: Evidence, order: Order, stretch: Stretch, begun: NDArray[np.float64]) -> float:
    """Return how probable it is that the step on this side begins about here, whatever comes before."""
    mine = order.states[stretch.state]
    alike = [place for place, one in enumerate(order.states) if one.same(mine)]
    near = np.abs(given.onsets - given.onsets[stretch.first]) <= NEAR_S
    return float(begun[near][:, alike].sum())
