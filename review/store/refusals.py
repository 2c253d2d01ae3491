"""Proposals that people refused; a refusal goes with its recording."""

from __future__ import annotations

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from review.domain.errors import NotFound
from review.domain.proposal import Refusal
from review.store.rows import read_refusal, said_columns
from review.store.tables import RefusalRow


class Refusals:
    """The table of refused proposals, seen from inside one transaction."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def of(self, recording_id: str, person_id: str) -> tuple[Refusal, ...]:
        """Return what a person refused of a recording, oldest first."""
        row = RefusalRow
        asked = select(row).where(row.recording_id == recording_id, row.person_id == person_id)
        return tuple(read_refusal(found) for found in self._session.scalars(asked.order_by(row.at, row.id)))

    def find(self, refusal_id: str) -> Refusal | None:
        """Return a refusal, or None."""
        row = self._session.get(RefusalRow, refusal_id)
        return None if row is None else read_refusal(row)

    def get(self, refusal_id: str) -> Refusal:
        """Return a refusal; raises NotFound for an unknown id."""
        found = self.find(refusal_id)
        if found is None:
            raise NotFound(f"No refusal has the id {refusal_id!r}; it may have been taken back already. Reload.")
        return found

    def put(self, refusal: Refusal) -> None:
        """Store a refusal."""
        self._session.merge(RefusalRow(**said_columns(refusal)))
        self._session.flush()

    def drop(self, refusal_id: str) -> None:
        """Forget a refusal; nothing happens if it is not there."""
        self._session.execute(delete(RefusalRow).where(RefusalRow.id == refusal_id))
        self._session.expire_all()
