"""Overall ratings of attempts, and what instructors expect of a borderline learner at each step."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import asdict
from typing import cast

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from review.domain.model import Side
from review.domain.standard import Expectation, Overall
from review.store.class_tables import ExpectationRow, OverallRow


class Standards:
    """The tables that cut scores rest on, seen from inside one transaction."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def overall(self, recording_ids: Collection[str]) -> tuple[Overall, ...]:
        """Return the overall ratings of some recordings, by recording, then by time."""
        row, wanted = OverallRow, frozenset(recording_ids)
        found = self._session.scalars(select(row).order_by(row.recording_id, row.at, row.person_id))
        return tuple(
            Overall(one.recording_id, one.person_id, one.rating, one.at) for one in found if one.recording_id in wanted
        )

    def put_overall(self, overall: Overall) -> None:
        """Store an overall rating, new or changed."""
        self._session.merge(OverallRow(**asdict(overall)))
        self._session.flush()

    def drop_overall(self, recording_id: str, person_id: str) -> None:
        """Take an overall rating back; no fault if there is none."""
        row = OverallRow
        self._session.execute(delete(row).where(row.recording_id == recording_id, row.person_id == person_id))

    def expectations(self, course_id: str, checklist_id: str) -> tuple[Expectation, ...]:
        """Return what instructors of a course expect of a borderline learner at a sheet, by person and step."""
        row = ExpectationRow
        asked = select(row).where(row.course_id == course_id, row.checklist_id == checklist_id)
        ordered = asked.order_by(row.person_id, row.step_id, row.side)
        return tuple(
            Expectation(
                course_id=one.course_id,
                checklist_id=one.checklist_id,
                step_id=one.step_id,
                side=cast("Side | None", one.side or None),
                person_id=one.person_id,
                chance=one.chance,
                at=one.at,
            )
            for one in self._session.scalars(ordered)
        )

    def put_expectation(self, expectation: Expectation) -> None:
        """Store an expectation, new or changed."""
        self._session.merge(ExpectationRow(**{**asdict(expectation), "side": expectation.side or ""}))
        self._session.flush()
