"""Grades of many recordings at once, with their history: what raters are compared by."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import fields
from itertools import groupby

from sqlalchemy import select, true
from sqlalchemy.orm import Session

from review.domain.model import Grade
from review.store.tables import GradeRow

_AT_ONCE = 500


class Gradings:
    """The grades of many recordings, seen from inside one transaction."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def of(
        self, recording_ids: Iterable[str], by: Collection[str] | None = None, criteria: bool = False
    ) -> dict[str, list[tuple[Grade, ...]]]:
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
        The columns are read without the objects that keep track of changes: a
        class of sixty has fifty thousand grades.
        """
        asked = list(dict.fromkeys(recording_ids))
        found: dict[str, list[tuple[Grade, ...]]] = {name: [] for name in asked}
        columns = [getattr(GradeRow, field.name) for field in fields(Grade)]
        for first in range(0, len(asked), _AT_ONCE):
            query = (
                select(*columns)
                .where(GradeRow.recording_id.in_(asked[first : first + _AT_ONCE]))
                .where(true() if criteria else GradeRow.criterion_id.is_(None))
                .where(true() if by is None else GradeRow.person_id.in_(by))
                .order_by(GradeRow.recording_id, GradeRow.id, GradeRow.revision)
            )
            rows = (Grade(*row) for row in self._session.execute(query))
            for _, history in groupby(rows, lambda one: one.id):
                whole = tuple(history)
                found[whole[0].recording_id].append(whole)
        return found
