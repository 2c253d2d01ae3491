"""Many new entries at once: what was never said before, put down without looking for an earlier revision."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Final

from sqlalchemy import insert
from sqlalchemy.orm import Session

from review.domain.model import Comment, Grade, Mark, Uncovering
from review.store.rows import said_columns
from review.store.tables import CommentRow, GradeRow, MarkRow, SaidRow, UncoveringRow

_ROWS: Final[Mapping[type, type[SaidRow]]] = {Mark: MarkRow, Grade: GradeRow, Comment: CommentRow}


class Bulk:
    """Entries by the hundred, seen from inside one transaction."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def say(self, said: Sequence[Mark] | Sequence[Grade] | Sequence[Comment]) -> None:
        """Store first revisions of entries of one kind; raises EntryRefused if one of the ids is known."""
        if said:
            self._session.execute(insert(_ROWS[type(said[0])]), [said_columns(one) for one in said])

    def uncover(self, uncoverings: Sequence[Uncovering]) -> None:
        """Store uncoverings that are not there yet."""
        rows = [{**asdict(one), "step_id": one.step_id or "", "side": one.side or ""} for one in uncoverings]
        if rows:
            self._session.execute(insert(UncoveringRow), rows)
