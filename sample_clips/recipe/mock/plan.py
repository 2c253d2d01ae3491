"""What an attempt does: which steps, in which order, and what goes wrong at each."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from random import Random
from typing import Final

from .sheet import Sheet, Step

OPPOSITE: Final = {"left": "right", "right": "left"}

_FULL_SHARE: Final = 0.85
"""Share of the longest time that must stay filled when a whole section is left out."""


@dataclass(frozen=True)
class Manner:
    """How somebody goes through a sheet; all but the length are chances from 0 to 1.

    Parameters
    ----------
    skips, repeats, swaps
        A step is left out, comes again later, or changes places with the next one.
    unannounced, unasked
        Nothing is said before it; the partner is not told what to do.
    unsaid, otherwise, own_words
        The finding is not said, is another one than expected, or is said in words that are not the sheet's.
    slips, wrong_sides
        Another side or number is said first and corrected; another side is said and not corrected.
    fillers, restarts, asides
        "Um" and the like; words begun twice; something said that belongs to no step.
    longest_s
        Sections and steps are left out until the attempt is about so long at most; None leaves all in.
    """

    skips: float = 0.08
    repeats: float = 0.04
    swaps: float = 0.06
    unannounced: float = 0.15
    unasked: float = 0.12
    unsaid: float = 0.12
    otherwise: float = 0.15
    own_words: float = 0.35
    slips: float = 0.07
    wrong_sides: float = 0.05
    fillers: float = 0.3
    restarts: float = 0.08
    asides: float = 0.12
    longest_s: float | None = 450.0


@dataclass(frozen=True)
class Visit:
    """One time at which a step is done.

    Parameters
    ----------
    side
        Of the partner; None for a step without sides.
    again
        It has been done before in the attempt.
    second
        The other side of the same step was done just before.
    """

    step: Step
    side: str | None
    again: bool = False
    second: bool = False


@dataclass(frozen=True)
class Plan:
    """The visits in their order, and the steps and sides that are left out, in the sheet's."""

    visits: tuple[Visit, ...]
    skipped: tuple[tuple[Step, str | None], ...]


def plan(sheet: Sheet, manner: Manner, random: Random) -> Plan:
    """Return what an attempt at a sheet does."""
    places = [(step, side) for step in sheet.steps for side in step.sides or (None,)]
    going = _fitting(list(sheet.steps), manner.longest_s, random)
    kept = [(step, side) for step in going for side in _sides_in_order(step, random) if random.random() >= manner.skips]
    kept = _swapped(kept or places[:1], manner.swaps, random)
    kept = _repeated(kept, manner.repeats, random)
    done = set(kept)
    return Plan(_visits(kept), tuple(place for place in places if place not in done))


def about_s(step: Step) -> float:
    """Return about how long one visit of a step takes, seconds."""
    spoken = sum(len(lines[0].split()) for lines in (step.called, step.ask, step.answer, step.said) if lines)
    return 1.4 + 0.36 * spoken + sum(step.wait_s) / 2 + 0.5 * len(step.answer[:1])


def _fitting(steps: list[Step], longest_s: float | None, random: Random) -> list[Step]:
    """Leave whole sections out, never the first, then single steps, until the rest is about short enough."""
    kept, least_s = steps, _FULL_SHARE * (longest_s or 0.0)
    sections = list(dict.fromkeys(step.section for step in steps))[1:]
    for section in random.sample(sections, len(sections)):
        rest = [step for step in kept if step.section != section]
        if longest_s is not None and _length_s(kept) > longest_s and _length_s(rest) >= least_s:
            kept = rest
    while longest_s is not None and _length_s(kept) > longest_s and len(kept) > 1:
        left_out = random.choice(kept[1:])
        kept = [step for step in kept if step is not left_out]
    return kept


def _length_s(steps: list[Step]) -> float:
    return sum(about_s(step) * max(1, len(step.sides)) for step in steps)


def _sides_in_order(step: Step, random: Random) -> tuple[str | None, ...]:
    if not step.sides:
        return (None,)
    return step.sides if random.random() < 0.7 else step.sides[::-1]


def _swapped(places: list[tuple[Step, str | None]], chance: float, random: Random) -> list[tuple[Step, str | None]]:
    """Let steps, with all their sides, change places with the one after."""
    groups = [list(group) for _, group in groupby(places, key=lambda place: place[0].id)]
    number = 0
    while number + 1 < len(groups):
        if random.random() < chance:
            groups[number], groups[number + 1] = groups[number + 1], groups[number]
            number += 1
        number += 1
    return [place for group in groups for place in group]


def _repeated(places: list[tuple[Step, str | None]], chance: float, random: Random) -> list[tuple[Step, str | None]]:
    """Let some visits come a second time, one to four places later."""
    result = list(places)
    for place in places:
        if random.random() < chance:
            result.insert(min(result.index(place) + random.randint(2, 5), len(result)), place)
    return result


def _visits(places: list[tuple[Step, str | None]]) -> tuple[Visit, ...]:
    visits: list[Visit] = []
    for step, side in places:
        again = any(visit.step is step and visit.side == side for visit in visits)
        second = bool(visits) and visits[-1].step is step and visits[-1].side == OPPOSITE.get(side or "")
        visits.append(Visit(step, side, again, second))
    return tuple(visits)
