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

    def give_back(self, holder: str, unit: str | None = None) -> None:
        """Free a unit of a holder, or all of them; they count as taken once less."""
        self._free(holder, unit, tries=LeaseRow.tries - 1)

    def free(self, holder: str, unit: str | None = None) -> None:
        """Free a unit of a holder that died with it, or all of them."""
        self._free(holder, unit, tries=LeaseRow.tries)

    def _free(self, holder: str, unit: str | None, tries: object) -> None:
        mine = [LeaseRow.holder == holder] if unit is None else [LeaseRow.holder == holder, LeaseRow.unit == unit]
        self._session.execute(update(LeaseRow).where(*mine).values(holder="", tries=tries))
        self._session.expire_all()

    def holders(self) -> set[str]:
        """Return everybody who holds a lease."""
        asked = select(LeaseRow.holder).where(LeaseRow.holder != "").distinct().order_by(LeaseRow.holder)
        return set(self._session.scalars(asked))

    def forget(self, recording_id: str) -> None:
        """Forget all units of a recording, and how often they were tried."""
        self._session.execute(delete(LeaseRow).where(LeaseRow.recording_id == recording_id))

    def taken(self, now: datetime) -> dict[tuple[str, str], str]:
        """Return recording and unit -> holder of all leases that hold."""
        asked = select(LeaseRow).where(LeaseRow.holder != "", LeaseRow.until > now)
        rows = self._session.scalars(asked.order_by(LeaseRow.recording_id, LeaseRow.unit))
        return {(row.recording_id, row.unit): row.holder for row in rows}
