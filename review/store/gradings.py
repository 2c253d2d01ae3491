"""Grades of many recordings at once, with their history: what raters are compared by."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from datetime import datetime
from itertools import groupby
from operator import itemgetter
from typing import NamedTuple

from sqlalchemy import select, true
from sqlalchemy.orm import Session

from review.domain.model import Grade, Side
from review.store.tables import GradeRow

_AT_ONCE = 500


class Revision(NamedTuple):
    """One revision of a grade, with the fields of `Grade` in their order; quicker to make by the thousand."""

    id: str
    recording_id: str
    step_id: str
    side: Side | None
    criterion_id: str | None
    level: str
    confidence: int | None
    person_id: str
    at: datetime
    revision: int
    removed: bool
    after_reveal: bool | None

    @property
    def grade(self) -> Grade:
        """The grade as it was then."""
        return Grade(*self)


class Gradings:
    """The grades of many recordings, seen from inside one transaction."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def of(
        self, recording_ids: Iterable[str], by: Collection[str] | None = None, criteria: bool = False
    ) -> dict[str, list[tuple[Revision, ...]]]:
        """Return for each recording the histories of the grades of its steps, each with its revisions, oldest first.

        Parameters
        ----------
        recording_ids
            Which recordings; an id of none has no histories.
        by
            Ids of the people whose grades are asked for; None for everybody's.
        criteria
            Whether grades of a criterion come along.

        Notes
        -----
        The columns are read past the mapper and into plain tuples: a class of
        sixty has fifty thousand grades, most of which are only counted.
        """
        asked = list(dict.fromkeys(recording_ids))
        found: dict[str, list[tuple[Revision, ...]]] = {name: [] for name in asked}
        of = GradeRow.__table__.c
        columns = [of[name] for name in Revision._fields]
        for first in range(0, len(asked), _AT_ONCE):
            query = (
                select(*columns)
                .where(of.recording_id.in_(asked[first : first + _AT_ONCE]))
                .where(true() if criteria else of.criterion_id.is_(None))
                .where(true() if by is None else of.person_id.in_(by))
                .order_by(of.recording_id, of.id, of.revision)
            )
            rows = map(Revision._make, self._session.execute(query).all())
            for (name, _), history in groupby(rows, itemgetter(1, 0)):
                found[name].append(tuple(history))
        return found
