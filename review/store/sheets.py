"""Check-off sheets with their versions, and which of them are retired."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from functools import lru_cache

from sqlalchemy import delete, func, select
from sqlalchemy.orm import Session

from review.domain.checklist import Checklist
from review.domain.checklist_file import parse_checklist
from review.domain.errors import EntryRefused, NotFound
from review.store.tables import ChecklistRow, RecordingRow, RetiredChecklistRow


@dataclass(frozen=True, slots=True)
class Version:
    """One stored version of a sheet: who stored it and when (None where not known), and how many attempts use it."""

    version: int
    title: str
    saved_by: str | None
    saved_at: datetime | None
    attempts: int


class Sheets:
    """The table of checklists, seen from inside one transaction.

    Parameters
    ----------
    session
        Open transaction.
    reading
        Whether it only reads: a sheet is then asked for once.
    """

    def __init__(self, session: Session, reading: bool = False) -> None:
        self._session = session
        self._reading = reading
        self._known: dict[tuple[str, int | None], Checklist] = {}

    def newest(self) -> tuple[Checklist, ...]:
        """Return the newest version of each checklist, by id."""
        asked = select(ChecklistRow.id, func.max(ChecklistRow.version)).group_by(ChecklistRow.id)
        return tuple(self.get(name, version) for name, version in self._session.execute(asked.order_by("id")))

    def offered(self) -> tuple[Checklist, ...]:
        """Return the newest version of each checklist that is offered for new attempts: those not retired."""
        retired = self.retired()
        return tuple(sheet for sheet in self.newest() if sheet.id not in retired)

    def get(self, checklist_id: str, version: int | None = None) -> Checklist:
        """Return a checklist; without `version` the newest one.

        Raises
        ------
        NotFound
            If there is none with this id and version; the message names the known ones.
        """
        known = self._known.get((checklist_id, version)) if self._reading else None
        if known is None:
            stored = self._row(checklist_id, version)
            known = _parsed(stored.text, f"checklist {stored.id}, version {stored.version}")
            self._known[checklist_id, version] = known
        return known

    def text(self, checklist_id: str, version: int | None = None) -> str:
        """Return the text of a checklist's file as it was stored; raises as `get` does."""
        return self._row(checklist_id, version).text

    def for_attempt(self, checklist_id: str) -> Checklist:
        """Return the newest version of a checklist for a new attempt.

        Raises
        ------
        NotFound
            If there is no such checklist.
        EntryRefused
            If it is retired.
        """
        sheet = self.get(checklist_id)
        if checklist_id in self.retired():
            offered = ", ".join(one.id for one in self.offered()) or "none yet"
            raise EntryRefused(
                f"The checklist {sheet.title!r} ({sheet.id}) is retired; expected one that is offered for new attempts "
                f"({offered}). Nothing was changed; choose another, or bring this one back first."
            )
        return sheet

    def versions(self, checklist_id: str) -> tuple[Version, ...]:
        """Return all versions of a checklist, newest first; empty for an unknown id."""
        row = ChecklistRow
        asked = select(row).where(row.id == checklist_id).order_by(row.version.desc())
        film = RecordingRow
        used = select(film.checklist_version, func.count()).where(film.checklist_id == checklist_id)
        counts = dict(self._session.execute(used.group_by(film.checklist_version).order_by("checklist_version")).all())
        return tuple(
            Version(found.version, found.title, found.saved_by, found.saved_at, counts.get(found.version, 0))
            for found in self._session.scalars(asked)
        )

    def put(self, checklist: Checklist, text: str, person_id: str | None = None) -> None:
        """Store a checklist as the text of its file; a version that is stored stays as it is.

        Raises
        ------
        EntryRefused
            If this version is stored with another text.
        """
        stored = self._session.get(ChecklistRow, (checklist.id, checklist.version))
        if stored is None:
            named = {"id": checklist.id, "version": checklist.version, "title": checklist.title}
            self._session.add(ChecklistRow(**named, text=text, saved_by=person_id, saved_at=datetime.now(UTC)))
            self._session.flush()
        elif stored.text != text:
            raise EntryRefused(
                f"Version {checklist.version} of checklist {checklist.id!r} is stored with another text, and grades "
                "may rest on it; expected a higher version for a changed sheet. Nothing was changed; raise the version."
            )

    def retired(self) -> dict[str, datetime]:
        """Return the ids of retired checklists, and since when they are."""
        row = RetiredChecklistRow
        return {found.checklist_id: found.at for found in self._session.scalars(select(row).order_by(row.checklist_id))}

    def retire(self, checklist_id: str, person_id: str) -> None:
        """Offer a checklist no more for new attempts; raises NotFound for an unknown id."""
        self.get(checklist_id)
        if checklist_id not in self.retired():
            row = RetiredChecklistRow(checklist_id=checklist_id, person_id=person_id, at=datetime.now(UTC))
            self._session.add(row)
            self._session.flush()

    def bring_back(self, checklist_id: str) -> None:
        """Offer a retired checklist again; raises NotFound for an unknown id."""
        self.get(checklist_id)
        row = RetiredChecklistRow
        self._session.execute(delete(row).where(row.checklist_id == checklist_id))
        self._session.expire_all()

    def _row(self, checklist_id: str, version: int | None) -> ChecklistRow:
        row = ChecklistRow
        asked = select(row).where(row.id == checklist_id).order_by(row.version.desc())
        stored = self._session.scalars(asked if version is None else asked.where(row.version == version)).first()
        if stored is None:
            known = self._session.execute(select(row.id, row.version).order_by(row.id, row.version))
            name = checklist_id if version is None else f"{checklist_id}, version {version}"
            names = {ident if version is None else f"{ident}, version {number}" for ident, number in known}
            raise NotFound.among("checklist", name, names)
        return stored


@lru_cache(maxsize=32)
def _parsed(text: str, source: str) -> Checklist:
    return parse_checklist(text, source)
