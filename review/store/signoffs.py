"""Sign-offs of recordings: versions are added, and none is ever changed."""

from __future__ import annotations

from dataclasses import asdict, fields

from sqlalchemy import func, insert, select
from sqlalchemy.orm import Session

from review.domain.errors import EntryRefused
from review.domain.signoff import SignOff
from review.store.tables import SignOffRow


class SignOffs:
    """The table of sign-offs, seen from inside one transaction."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def of(self, recording_id: str) -> tuple[SignOff, ...]:
        """Return all versions of a recording's sign-off, oldest first."""
        row = SignOffRow
        asked = select(row).where(row.recording_id == recording_id).order_by(row.version)
        return tuple(
            SignOff(**{field.name: getattr(found, field.name) for field in fields(SignOff)})
            for found in self._session.scalars(asked)
        )

    def count(self, recording_id: str) -> int:
        """Return how many versions there are."""
        asked = select(func.count()).select_from(SignOffRow).where(SignOffRow.recording_id == recording_id)
        return self._session.scalar(asked) or 0

    def add(self, sign_off: SignOff) -> None:
        """Add a version.

        Raises
        ------
        EntryRefused
            If it does not follow the last one.
        """
        known = self.count(sign_off.recording_id)
        if sign_off.version != known + 1:
            raise EntryRefused(
                f"Version {sign_off.version} of the sign-off came, expected version {known + 1}: somebody signed "
                "meanwhile. Nothing was changed; look at it as it is now."
            )
        self._session.execute(insert(SignOffRow).values(asdict(sign_off)))
