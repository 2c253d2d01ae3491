"""Which steps of many recordings are marked, and which are graded, whatever was said of them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, cast

from sqlalchemy import select
from sqlalchemy.orm import Session

from review.domain.model import Side
from review.store.tables import GradeRow, MarkRow

Places = dict[str, set[tuple[str, Side | None]]]

_AT_ONCE = 500


class SaidPlaces:
    """Steps with their sides by recording, seen from inside one transaction."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def marked(self, recording_ids: Sequence[str]) -> Places:
        """Return the steps that anybody has marked, for each recording."""
        return self._of(MarkRow, recording_ids)

    def graded(self, recording_ids: Sequence[str]) -> Places:
        """Return the steps that anybody has graded, or a criterion of them, for each recording."""
        return self._of(GradeRow, recording_ids)

    def _of(self, row: Any, recording_ids: Sequence[str]) -> Places:
        found: Places = {name: set() for name in recording_ids}
        for first in range(0, len(recording_ids), _AT_ONCE):
            asked = select(row.id, row.recording_id, row.step_id, row.side, row.removed)
            wanted = asked.where(row.recording_id.in_(recording_ids[first : first + _AT_ONCE]))
            newest = {one[0]: one for one in self._session.execute(wanted.order_by(row.id, row.revision))}
            for _, recording_id, step_id, side, removed in newest.values():
                if not removed:
                    found[recording_id].add((step_id, cast("Side | None", side)))
        return found
