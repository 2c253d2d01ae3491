"""What people wrote in the place of words that were heard: every revision is kept, and none is changed."""

from __future__ import annotations

from collections.abc import Iterable

from sqlalchemy import delete, insert, select
from sqlalchemy.orm import Session

from review.domain.captions import Correction
from review.domain.errors import EntryRefused
from review.store.ledger import standing
from review.store.rows import read_correction, said_columns
from review.store.tables import CorrectionRow


class Corrections:
    """The table of corrected captions, seen from inside one transaction."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def of(self, recording_id: str) -> tuple[Correction, ...]:
        """Return the corrections of a recording that stand, by onset."""
        return self.of_many([recording_id])[recording_id]

    def of_many(self, recording_ids: Iterable[str]) -> dict[str, tuple[Correction, ...]]:
        """Return what `of` does for each of many recordings, out of one query."""
        row, asked_for = CorrectionRow, list(dict.fromkeys(recording_ids))
        asked = standing(row, asked_for)[0].order_by(row.onset_s, row.offset_s, row.id)
        found: dict[str, list[Correction]] = {name: [] for name in asked_for}
        for one in self._session.execute(asked).all():
            found[one.recording_id].append(read_correction(one))
        return {name: tuple(kept) for name, kept in found.items()}

    def last(self, correction_id: str) -> Correction | None:
        """Return the last revision of a correction, even if by that what was heard stands again; None if unknown."""
        row = CorrectionRow
        asked = select(row).where(row.id == correction_id).order_by(row.revision.desc()).limit(1)
        found = self._session.scalars(asked).first()
        return None if found is None else read_correction(found)

    def put(self, correction: Correction) -> None:
        """Add the next revision of a correction.

        Raises
        ------
        EntryRefused
            If it does not follow the last one, or that is of another recording.
        """
        last = self.last(correction.id)
        if last is not None and last.recording_id != correction.recording_id:
            raise EntryRefused("This correction is of another recording. Nothing was changed; reload the page.")
        if correction.revision != (0 if last is None else last.revision) + 1:
            raise EntryRefused("This caption was changed meanwhile. Nothing was changed; look at it as it is now.")
        self._session.execute(insert(CorrectionRow).values(said_columns(correction)))

    def erase(self) -> None:
        """Erase the corrections of all recordings, with all revisions."""
        self._session.execute(delete(CorrectionRow))
