"""Who came to see what is covered of which step: first of all estimates and grades of others."""

from __future__ import annotations

from collections.abc import Collection
from typing import Final, cast

from sqlalchemy import select
from sqlalchemy.orm import Session

from review.domain.model import Side, Uncovering
from review.store.rows import read_uncovering
from review.store.tables import UncoveringRow

_MOST_NAMED: Final = 100
"""So many recordings are named in a statement at most; beyond, all are read and looked through."""

_KEY: Final = ("recording_id", "person_id", "step_id", "side")


class Uncoverings:
    """The table of uncoverings, seen from inside one transaction.

    Parameters
    ----------
    session
        Open transaction.
    reading
        Whether it only reads: what a person uncovered of a recording is then asked for once.
    """

    def __init__(self, session: Session, reading: bool = False) -> None:
        self._session = session
        self._reading = reading
        self._known: dict[tuple[str, str], tuple[Uncovering, ...]] = {}

    def of(self, recording_id: str, person_id: str) -> tuple[Uncovering, ...]:
        """Return what a person has uncovered of a recording, oldest first."""
        known = self._known.get((recording_id, person_id)) if self._reading else None
        if known is None:
            row = UncoveringRow
            asked = select(row).where(row.recording_id == recording_id, row.person_id == person_id)
            ordered = asked.order_by(row.at, row.step_id, row.side)
            known = tuple(read_uncovering(found) for found in self._session.scalars(ordered))
            self._known[recording_id, person_id] = known
        return known

    def by(self, person_id: str, recording_ids: Collection[str] | None = None) -> tuple[Uncovering, ...]:
        """Return all that a person has uncovered of some recordings, oldest first; of whatever recording with None."""
        row = UncoveringRow.__table__.c
        asked = select(row.recording_id, row.step_id, row.side, row.at).where(row.person_id == person_id)
        if recording_ids is not None and len(recording_ids) <= _MOST_NAMED:
            asked = asked.where(row.recording_id.in_(recording_ids))
        ordered = asked.order_by(row.at, row.recording_id, row.step_id, row.side)
        return tuple(
            Uncovering(recording_id, person_id, step_id or None, cast("Side | None", side or None), at)
            for recording_id, step_id, side, at in self._session.execute(ordered).all()
            if recording_ids is None or recording_id in recording_ids
        )

    def note(self, uncovering: Uncovering) -> None:
        """Note an uncovering; the first of a place stays as it is."""
        step_id, side = uncovering.step_id or "", uncovering.side or ""
        key = (uncovering.recording_id, uncovering.person_id, step_id, side)
        if self._session.get(UncoveringRow, key) is None:
            self._session.add(UncoveringRow(**dict(zip(_KEY, key, strict=True)), at=uncovering.at))
            self._session.flush()
