"""Stretches of recordings that show a step done well; they go with the recording they are cut from."""

from __future__ import annotations

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from review.domain.errors import NotFound
from review.domain.model import Exemplar
from review.store.rows import read_exemplar, said_columns
from review.store.tables import ExemplarRow


class Exemplars:
    """The table of exemplars, seen from inside one transaction."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def of_checklist(self, checklist_id: str) -> tuple[Exemplar, ...]:
        """Return the exemplars of a checklist's steps, in the order in which they were attached."""
        row = ExemplarRow
        asked = select(row).where(row.checklist_id == checklist_id).order_by(row.at, row.id)
        return tuple(read_exemplar(found) for found in self._session.scalars(asked))

    def cut_from(self, recording_id: str) -> tuple[Exemplar, ...]:
        """Return the exemplars that are stretches of a recording, in the order in which they were attached."""
        row = ExemplarRow
        asked = select(row).where(row.recording_id == recording_id).order_by(row.at, row.id)
        return tuple(read_exemplar(found) for found in self._session.scalars(asked))

    def find(self, exemplar_id: str) -> Exemplar | None:
        """Return an exemplar, or None."""
        row = self._session.get(ExemplarRow, exemplar_id)
        return None if row is None else read_exemplar(row)

    def get(self, exemplar_id: str) -> Exemplar:
        """Return an exemplar; raises NotFound for an unknown id."""
        found = self.find(exemplar_id)
        if found is None:
            raise NotFound(f"No exemplar has the id {exemplar_id!r}; it may have gone with its recording. Reload.")
        return found

    def put(self, exemplar: Exemplar) -> None:
        """Store an exemplar, new or moved."""
        self._session.merge(ExemplarRow(**said_columns(exemplar)))
        self._session.flush()

    def drop(self, exemplar_id: str) -> None:
        """Forget an exemplar; nothing happens if it is not there."""
        self._session.execute(delete(ExemplarRow).where(ExemplarRow.id == exemplar_id))
        self._session.expire_all()
