"""Append-only revisions of what people say of a recording: marks, grades, comments, entries."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import groupby
from typing import Any, Generic, TypeVar

from sqlalchemy import ColumnElement, Select, and_, func, insert, select
from sqlalchemy.orm import InstrumentedAttribute, Session

from review.domain.entries import Entry
from review.domain.errors import EntryRefused, NotFound
from review.domain.model import Comment, Grade, Mark
from review.store.rows import said_columns
from review.store.tables import RevisedRow, SaidRow

Said = TypeVar("Said", Mark, Grade, Comment, Entry)
Row = TypeVar("Row", bound=SaidRow)
Revised = TypeVar("Revised", bound=RevisedRow)


def standing(row: type[Revised], recording_ids: Sequence[str]) -> tuple[Select[Any], ColumnElement[Any]]:
    """Return what selects the highest revisions of recordings' entries that are not removed, and when each began.

    Columns are selected, not rows' own classes: many are read at once, and those cost more than all else of it.
    """
    newest = (
        select(row.id, func.max(row.revision).label("revision"), func.min(row.at).label("said_at"))
        .where(row.recording_id.in_(recording_ids))
        .group_by(row.id)
        .subquery()
    )
    follows = and_(row.id == newest.c.id, row.revision == newest.c.revision)
    return select(*row.__table__.c).join(newest, follows).where(row.removed.is_(False)), newest.c.said_at


class Ledger(Generic[Row, Said]):
    """All revisions of one kind of entry.

    Parameters
    ----------
    session
        Open transaction.
    kind
        The word for it: "mark", "grade", "comment" or "entry".
    row
        Its table.
    read
        Makes what was said of a row.
    order
        What the current ones are sorted by, before the time at which they were first said.
    reading
        Whether the transaction only reads: what was read then stays, and is asked for once.
    """

    def __init__(
        self,
        session: Session,
        kind: str,
        row: type[Row],
        read: Callable[[Any], Said],
        order: Sequence[InstrumentedAttribute[Any]],
        reading: bool = False,
    ) -> None:
        self._session = session
        self._kind = kind
        self._row = row
        self._read: Callable[[Any], Said] = read
        self._order = order
        self._reading = reading
        self._known: dict[str, tuple[Said, ...]] = {}
        self._histories: dict[str, dict[str, tuple[Said, ...]]] = {}

    def current(self, recording_id: str) -> tuple[Said, ...]:
        """Return the highest revision of each entry of a recording, those that were removed left out."""
        if not self._reading:
            return self.current_of([recording_id])[recording_id]
        if recording_id not in self._known:
            self._known |= self.current_of([recording_id])
        return self._known[recording_id]

    def current_of(self, recording_ids: Iterable[str]) -> dict[str, tuple[Said, ...]]:
        """Return what `current` does for each of many recordings, out of one query."""
        asked_for, row = list(dict.fromkeys(recording_ids)), self._row
        asked, said_at = standing(row, asked_for)
        asked = asked.order_by(*self._order, said_at, row.id)
        found: dict[str, list[Said]] = {name: [] for name in asked_for}
        for one in self._session.execute(asked).all():
            found[one.recording_id].append(self._read(one))
        return {name: tuple(said) for name, said in found.items()}

    def history(self, entry_id: str) -> tuple[Said, ...]:
        """Return all revisions of one entry, oldest first; empty for an unknown id."""
        row = self._row
        asked = select(row).where(row.id == entry_id).order_by(row.revision)
        return tuple(self._read(found) for found in self._session.scalars(asked))

    def histories(self, recording_id: str) -> dict[str, tuple[Said, ...]]:
        """Return all revisions of each entry of a recording by its id, oldest first."""
        if self._reading and recording_id in self._histories:
            return self._histories[recording_id]
        row = self._row
        asked = select(*row.__table__.c).where(row.recording_id == recording_id).order_by(row.id, row.revision)
        rows = [list(found) for _, found in groupby(self._session.execute(asked).all(), lambda one: one.id)]
        found = {one[0].id: tuple(map(self._read, one)) for one in rows}
        if self._reading:
            self._histories[recording_id], self._known[recording_id] = found, self._current_among(rows)
        return found

    def _current_among(self, histories: Iterable[Sequence[Any]]) -> tuple[Said, ...]:
        """Return what `current` does, out of all revisions of each entry."""
        names: list[str] = [column.key for column in self._order]

        def place(history: Sequence[Any]) -> tuple[Any, ...]:
            last: Any = history[-1]
            return (*[getattr(last, name) for name in names], min(row.at for row in history), last.id)

        standing = sorted((history for history in histories if not history[-1].removed), key=place)
        return tuple(self._read(history[-1]) for history in standing)

    def latest(self, entry_id: str) -> Said:
        """Return the highest revision of one entry, even if that says that it was removed.

        Raises
        ------
        NotFound
            If there is no such entry.
        """
        history = self.history(entry_id)
        if not history:
            raise NotFound(f"No {self._kind} has the id {entry_id!r}; it may have gone with its recording. Reload.")
        return history[-1]

    def put(self, entry: Said) -> None:
        """Add a revision.

        Raises
        ------
        EntryRefused
            If it does not follow the last one, or belongs to another recording or person than that.
        """
        history = self.history(entry.id)
        known = history[-1].revision if history else 0
        if entry.revision != known + 1:
            raise EntryRefused(
                f"This {self._kind} was changed meanwhile: revision {entry.revision} came, expected {known + 1}. "
                "Nothing was changed; look at it as it is now and try again."
            )
        if history and (history[-1].recording_id, history[-1].person_id) != (entry.recording_id, entry.person_id):
            raise EntryRefused(
                f"The {self._kind} {entry.id!r} belongs to another recording or person; expected a new id for a new "
                "one. Nothing was changed."
            )
        self._session.execute(insert(self._row).values(said_columns(entry)))
