"""A made-up class: who does what how well, and what the raters say of it. All of it comes from a fixed start."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from review.domain.checklist import NOT_ASSESSABLE, Checklist, GradeScale
from review.domain.model import Side

Floats = npt.NDArray[np.float64]
Place = tuple[str, Side | None]

START: Final = 20_261_127
"""From where all that is drawn at random begins."""

REMARKS: Final = (
    "Say what you are about to do before your hands move.",
    "Slower: let each position last for a second before you go on.",
    "Say the finding aloud, with its side.",
    "Stand so that the film shows both of you, hands included.",
    "Compare with the other side before you go on.",
    "Good pace. Keep your hand on the partner's shoulder a little longer.",
    "Ask once more whether it hurts before you begin.",
    "The partner looked at you, not at the target. Say where to look.",
)
PEERS_REMARKS: Final = (
    "I could not hear the finding here.",
    "I would do the left side right after the right one.",
    "This went better than the last time.",
)

_HARDER: Final = 0.75
_BETTER_EACH_TIME: Final = 0.35
_ON_THE_DAY: Final = 0.8
_CUTS: Final = (0.0, -0.9)
_UNSEEN: Final = 0.02
_OFTEN_UNSEEN: Final = 0.2
_SURE: Final = (0.3, 0.9)


@dataclass(frozen=True, slots=True)
class Rater:
    """How somebody grades: so much too kindly, and so roughly, on the scale on which learners differ by about 1."""

    kind: float
    rough: float


INSTRUCTORS: Final = (Rater(0.0, 0.25), Rater(-0.25, 0.25), Rater(0.15, 0.35), Rater(0.05, 0.3))
PEER: Final = Rater(0.3, 0.5)


def oneself(attempt: int) -> Rater:
    """Return how a learner grades oneself in an attempt, from 1: less kindly each time."""
    return Rater(0.7 * 0.8**attempt, 0.5)


@dataclass(frozen=True, slots=True)
class Performance:
    """How an attempt went.

    Parameters
    ----------
    places
        Steps with their sides, in the sheet's order.
    how_well
        Above 0 for a step done fully, the further below the worse; shape ``(places,)``.
    unseen
        Whether the film shows the step too badly to be judged; shape ``(places,)``.
    """

    places: tuple[Place, ...]
    how_well: Floats
    unseen: npt.NDArray[np.bool_]


def performance(sheet: Checklist, learner: int, attempt: int) -> Performance:
    """Return how a learner, by number, does in an attempt, from 1, at a sheet."""
    places = tuple(sheet.titles())
    steps = np.random.default_rng([START, len(places)])
    hard = steps.normal(0.0, _HARDER, len(places))
    hidden = np.where(steps.random(len(places)) < 0.1, _OFTEN_UNSEEN, _UNSEEN)
    ability = np.random.default_rng([START, learner]).normal(0.5, 0.7)
    day = np.random.default_rng([START, learner, attempt])
    how_well = ability + _BETTER_EACH_TIME * (attempt - 1) - hard + day.normal(0.0, _ON_THE_DAY, len(places))
    return Performance(places, how_well, day.random(len(places)) < hidden)


@dataclass(frozen=True, slots=True)
class Said:
    """A grade before it is anybody's: level and confidence."""

    level: str
    confidence: int


def graded(done: Performance, scale: GradeScale, rater: Rater, draw: Sequence[int]) -> Mapping[Place, Said]:
    """Return what a rater gives each step of a performance.

    Parameters
    ----------
    done, scale
        How it went, and the sheet's scale.
    rater
        How the person grades.
    draw
        Numbers that name this grading; the same ones give the same grades.
    """
    rng = np.random.default_rng([START, *draw])
    seen = done.how_well + rater.kind + rng.normal(0.0, rater.rough, len(done.places))
    levels = scale.worth
    cuts = np.linspace(_CUTS[0], _CUTS[1], len(levels) - 1)
    found = (seen[:, None] <= cuts).sum(axis=1)
    sure = 1 + (np.abs(seen[:, None] - cuts).min(axis=1)[:, None] > np.array(_SURE)).sum(axis=1)
    unseen = done.unseen & (rng.random(len(done.places)) < 0.85)
    return {
        place: Said(NOT_ASSESSABLE if unseen[row] else levels[int(found[row])].key, int(sure[row]))
        for row, place in enumerate(done.places)
    }


def overall(done: Performance, rater: Rater, draw: Sequence[int]) -> int:
    """Return an instructor's overall rating of a performance, from 1 to 5."""
    rough = float(np.random.default_rng([START, *draw]).normal(0.0, 0.35))
    return int(np.clip(round(2.4 + 1.1 * (float(done.how_well.mean()) + rater.kind + rough)), 1, 5))


def chances(sheet: Checklist, judge: int) -> Mapping[Place, float]:
    """Return what an instructor, by number, expects of a borderline learner at each step, to the next 5 %."""
    places = tuple(sheet.titles())
    hard = np.random.default_rng([START, len(places)]).normal(0.0, _HARDER, len(places))
    own = np.random.default_rng([START, len(places), judge]).normal(0.0, 0.25, len(places))
    found = np.round(20 / (1 + np.exp(hard + own - 0.4))) / 20
    return {place: float(found[row]) for row, place in enumerate(places)}


def waits(learner: int, attempt: int, attempts: int) -> bool:
    """Tell whether an attempt waits for its instructor still: the newest of every third, and a few before."""
    return (attempt == attempts and learner % 3 == 0) or (attempt == attempts - 1 and learner % 12 == 0)
