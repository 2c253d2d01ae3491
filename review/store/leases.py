"""Units of work that processes have taken, each until a moment: nobody else does them meanwhile.

A lease that has run out, or that was given back, is free to be taken again. How often a unit was taken stays until it
is finished, so that one that kills its worker again and again is noticed.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy import delete, select, update
from sqlalchemy.orm import Session

from review.store.tables import LeaseRow


class Leases:
    """The leases, seen from inside one transaction; get them from `review.store.repository.Repository.leases`."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def take(self, recording_id: str, unit: str, holder: str, now: datetime, length_s: float) -> int | None:
        """Take a unit, and return how often it was taken, this time included; None if somebody else has it."""
        row = self._session.get(LeaseRow, (recording_id, unit))
        if row is not None and row.holder not in ("", holder) and row.until > now:
            return None
        tries = 1 if row is None else row.tries + 1
        until = now + timedelta(seconds=length_s)
        self._session.merge(LeaseRow(recording_id=recording_id, unit=unit, holder=holder, until=until, tries=tries))
        self._session.flush()
        return tries

    def renew(self, holder: str, now: datetime, length_s: float) -> None:
        """Make all leases of a holder last until `length_s` from now."""
        until = now + timedelta(seconds=length_s)
        self._session.execute(update(LeaseRow).where(LeaseRow.holder == holder).values(until=until))

    def finish(self, recording_id: str, unit: str) -> None:
        """Forget a unit that is done."""
        mine = (LeaseRow.recording_id == recording_id, LeaseRow.unit == unit)
        self._session.execute(delete(LeaseRow).where(*mine))

    def give_back(self, holder: str) -> None:
        """Free all units of a holder; they count as taken once less."""
        mine = LeaseRow.holder == holder
        self._session.execute(update(LeaseRow).where(mine).values(holder="", tries=LeaseRow.tries - 1))

    def free(self, holder: str) -> None:
        """Free all units of a holder that died with them."""
        self._session.execute(update(LeaseRow).where(LeaseRow.holder == holder).values(holder=""))

    def forget(self, recording_id: str) -> None:
        """Forget all units of a recording, and how often they were tried."""
        self._session.execute(delete(LeaseRow).where(LeaseRow.recording_id == recording_id))

    def taken(self, now: datetime) -> dict[tuple[str, str], str]:
        """Return recording and unit -> holder of all leases that hold."""
        asked = select(LeaseRow).where(LeaseRow.holder != "", LeaseRow.until > now)
        rows = self._session.scalars(asked.order_by(LeaseRow.recording_id, LeaseRow.unit))
        return {(row.recording_id, row.unit): row.holder for row in rows}
