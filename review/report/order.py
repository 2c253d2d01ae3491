"""How the steps were done, told from where they are marked: out of the sheet's order, repeated, on one side only."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping, Sequence

from review.domain.checklist import Checklist
from review.domain.model import Mark, Side

Place = tuple[str, Side | None]


def order_words(sheet: Checklist, marks: Mapping[Place, Sequence[Mark]]) -> dict[Place, list[str]]:
    """Say of each marked place what was unusual about it.

    Parameters
    ----------
    sheet
        The checklist.
    marks
        Marks with a length by step and side, each place's by onset; places without marks may be missing.

    Returns
    -------
    dict
        Sentences by step and side; the list is empty where all was as the sheet has it. As many steps as possible are
        taken to be in order; what remains was done out of it, and is told with the step it came after.
    """
    titles = sheet.titles()
    done = sorted((place for place in titles if marks.get(place)), key=lambda place: marks[place][0].interval)
    inside = _longest_rising([list(titles).index(place) for place in done])
    words: dict[Place, list[str]] = {place: [] for place in done}
    for at, place in enumerate(done):
        if at not in inside:
            before = f"done after {titles[done[at - 1]]}" if at else "done first"
            words[place].append(f"Out of the sheet's order: {before}")
        if len(marks[place]) > 1:
            words[place].append(f"Repeated: marked {len(marks[place])} times, values of the last")
    for step in sheet.steps():
        here = [side for side in step.sides if marks.get((step.id, side))]
        if len(step.sides) > 1 and len(here) == 1:
            words[step.id, here[0]].append(f"On one side only: the {here[0]}")
    return words


def _longest_rising(numbers: Sequence[int]) -> set[int]:
    """Return the indices of a longest rising part of a row of different numbers."""
    ends: list[int] = []
    tails: list[int] = []
    before = [-1] * len(numbers)
    for at, number in enumerate(numbers):
        place = bisect_left(tails, number)
        before[at] = ends[place - 1] if place else -1
        if place == len(tails):
            tails.append(number)
            ends.append(at)
        else:
            tails[place], ends[place] = number, at
    found, at = set(), ends[-1] if ends else -1
    while at >= 0:
        found.add(at)
        at = before[at]
    return found
