"""How much a home holds and what waits in it, counted by the database: for the figures that a server tells."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from review.store.tables import JobRow, RecordingRow


@dataclass(frozen=True, slots=True)
class Census:
    """What was counted.

    Attributes
    ----------
    recordings, film_seconds, film_bytes
        How many films there are, how long together, and how large their originals are.
    jobs
        How many analyses are in each state.
    waiting_since
        When the analysis was asked for that waits longest; None where none waits.
    """

    recordings: int
    film_seconds: float
    film_bytes: int
    jobs: Mapping[str, int]
    waiting_since: datetime | None


def census(session: Session) -> Census:
    """Count in one transaction, by queries that read no row."""
    film = RecordingRow
    totals = select(func.count(), func.sum(film.duration_s), func.sum(film.size_bytes)).select_from(film)
    recordings, seconds, size = session.execute(totals).one()
    states = session.execute(select(JobRow.state, func.count()).group_by(JobRow.state))
    oldest = session.scalar(select(JobRow.at).where(JobRow.state == "waiting").order_by(JobRow.at).limit(1))
    return Census(recordings, float(seconds or 0.0), int(size or 0), {state: count for state, count in states}, oldest)
