"""The trail of who saw, changed or was refused what."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Select, delete, func, insert, select
from sqlalchemy.orm import Session

from review.domain.look import Look
from review.store.class_tables import LookRow


class Looks:
    """The table of looks, seen from inside one transaction."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def note(
        self, person_id: str | None, recording_id: str | None, deed: str, what: str, allowed: bool, at: datetime
    ) -> None:
        """Note that somebody did something, or was refused it; nobody and no recording where that is not known."""
        facts = {"person_id": person_id, "recording_id": recording_id, "deed": deed, "what": what}
        self._session.execute(insert(LookRow).values(**facts, at=at, allowed=allowed))

    def of(self, recording_id: str) -> tuple[Look, ...]:
        """Return who looked at a recording, oldest first."""
        return self._read(select(LookRow).where(LookRow.recording_id == recording_id))

    def by(self, person_id: str) -> tuple[Look, ...]:
        """Return what a person looked at, oldest first."""
        return self._read(select(LookRow).where(LookRow.person_id == person_id))

    def since(self, person_id: str, recording_id: str, deed: str, what: str, begin: datetime) -> bool:
        """Tell whether the very same was noted, as allowed, at or after a moment."""
        row = LookRow
        same = (row.person_id == person_id, row.recording_id == recording_id, row.deed == deed, row.what == what)
        asked = select(func.count()).select_from(row).where(*same, row.at >= begin, row.allowed.is_(True))
        return bool(self._session.scalar(asked))

    def drop_before(self, moment: datetime) -> int:
        """Remove what is older than a moment, and return how many lines that were."""
        old = self._session.scalar(select(func.count()).select_from(LookRow).where(LookRow.at < moment)) or 0
        self._session.execute(delete(LookRow).where(LookRow.at < moment))
        return old

    def _read(self, asked: Select[LookRow]) -> tuple[Look, ...]:
        found = self._session.scalars(asked.order_by(LookRow.at, LookRow.id))
        return tuple(Look(row.person_id, row.recording_id, row.deed, row.what, row.at, row.allowed) for row in found)
