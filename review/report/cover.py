"""Blind first: what of a recording is still covered for the person who looks, as the store knows it."""

from __future__ import annotations

from collections.abc import Iterable

from review.domain.model import Person, Side, Uncovering


class Cover:
    """Tells which steps are covered for a person.

    Parameters
    ----------
    uncoverings
        What the person has uncovered.
    person
        Who is looking.
    lifted
        Whether nothing is covered, whatever was uncovered.
    """

    def __init__(self, uncoverings: Iterable[Uncovering], person: Person, lifted: bool = False) -> None:
        known = tuple(uncoverings)
        self._all = lifted or any(one.step_id is None for one in known)
        self._places = {(one.step_id, one.side) for one in known}
        self.person = person

    def over(self, step_id: str | None, side: Side | None) -> bool:
        """Tell whether a step is covered; what is about no step never is."""
        return step_id is not None and not self._all and (step_id, side) not in self._places

    def hides(self, step_id: str | None, side: Side | None, author_id: str) -> bool:
        """Tell whether what somebody said about a step is covered; what one said oneself never is."""
        return author_id != self.person.id and self.over(step_id, side)
