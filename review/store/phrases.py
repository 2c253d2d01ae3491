"""Sentences that people keep to put into their comments."""

from __future__ import annotations

from dataclasses import asdict

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from review.domain.model import Phrase
from review.store.rows import read_phrase
from review.store.tables import PhraseRow


class Phrases:
    """The table of quick phrases, seen from inside one transaction."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def of(self, person_id: str) -> tuple[Phrase, ...]:
        """Return a person's phrases, in the order in which they were kept."""
        row = PhraseRow
        asked = select(row).where(row.person_id == person_id).order_by(row.at, row.id)
        return tuple(read_phrase(found) for found in self._session.scalars(asked))

    def find(self, phrase_id: str) -> Phrase | None:
        """Return a phrase, or None."""
        row = self._session.get(PhraseRow, phrase_id)
        return None if row is None else read_phrase(row)

    def put(self, phrase: Phrase) -> None:
        """Store a phrase, new or changed."""
        self._session.merge(PhraseRow(**asdict(phrase)))
        self._session.flush()

    def drop(self, phrase_id: str) -> None:
        """Forget a phrase; nothing happens if it is not there."""
        self._session.execute(delete(PhraseRow).where(PhraseRow.id == phrase_id))
        self._session.expire_all()
