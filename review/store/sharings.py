"""Who else may see which recording: courses and handing in, requests to grade, consents."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import asdict, replace
from datetime import datetime
from typing import Any, Final

from sqlalchemy import BindParameter, Select, bindparam, delete, exists, func, select
from sqlalchemy.orm import Session, aliased

from review.domain.errors import EntryRefused
from review.domain.sharing import UNSHARED, Audience, Bystanders, Consent, Purpose, Request, Sharing
from review.store.class_tables import ConsentRow, RequestRow, ShareRow
from review.store.tables import ExemplarRow, RecordingRow

_Row = ShareRow | RequestRow | ConsentRow | ExemplarRow


class Sharings:
    """The tables of who else may see recordings, seen from inside one transaction."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def of(self, recording_id: str) -> Sharing:
        """Return who else may see one recording: as `by_recording`, with one question to the database."""
        rows = self._session.execute(_OF_ONE, {"recording_id": recording_id}).all()
        if not rows:
            return UNSHARED
        of_course, agreed, _, exemplar = rows[0]
        known = UNSHARED if of_course is None else Sharing(of_course.course_id, of_course.handed_in_at)
        return replace(
            known,
            consent=None if agreed is None else _consent(agreed),
            requests=tuple(_request(row[2]) for row in rows if row[2] is not None),
            exemplar=bool(exemplar),
        )

    def by_recording(self, among: Collection[str] | None = None) -> Mapping[str, Sharing]:
        """Return who else may see which recording, of some or of all; those of whom nothing is noted are left out."""

        def of(row: type[_Row], asked: Select[Any]) -> Select[Any]:
            return asked if among is None else asked.where(row.recording_id.in_(among))

        found: dict[str, Sharing] = {}
        for share in self._session.scalars(of(ShareRow, select(ShareRow).order_by(ShareRow.recording_id))):
            found[share.recording_id] = Sharing(share.course_id, share.handed_in_at)
        asked = select(RequestRow).order_by(RequestRow.recording_id, RequestRow.at, RequestRow.person_id)
        for row in self._session.scalars(of(RequestRow, asked)):
            known = found.get(row.recording_id, UNSHARED)
            found[row.recording_id] = replace(known, requests=(*known.requests, _request(row)))
        for consent in map(_consent, self._session.scalars(of(ConsentRow, self._newest_consents()))):
            known = found.get(consent.recording_id, UNSHARED)
            found[consent.recording_id] = replace(known, consent=consent)
        exemplars = select(ExemplarRow.recording_id).order_by(ExemplarRow.recording_id)
        for shown in self._session.scalars(of(ExemplarRow, exemplars)):
            found[shown] = replace(found.get(shown, UNSHARED), exemplar=True)
        return found

    def _newest_consents(self) -> Select[Any]:
        row = ConsentRow
        last = select(row.recording_id, func.max(row.version).label("version")).group_by(row.recording_id).subquery()
        asked = select(row).join(last, (row.recording_id == last.c.recording_id) & (row.version == last.c.version))
        return asked.order_by(row.recording_id)

    def put_in_course(self, recording_id: str, course_id: str, handed_in_at: datetime | None = None) -> None:
        """Store which course a recording belongs to, and when it was handed in there."""
        self._session.merge(ShareRow(recording_id=recording_id, course_id=course_id, handed_in_at=handed_in_at))
        self._session.flush()

    def put_request(self, request: Request) -> None:
        """Store that somebody is asked to grade an attempt, new or changed."""
        self._session.merge(RequestRow(**asdict(request)))
        self._session.flush()

    def drop_request(self, recording_id: str, person_id: str) -> None:
        """Have somebody no longer be asked to grade an attempt."""
        row = RequestRow
        self._session.execute(delete(row).where(row.recording_id == recording_id, row.person_id == person_id))

    def consents(self, recording_id: str) -> tuple[Consent, ...]:
        """Return all versions of what the examined person of a recording agreed to, oldest first."""
        asked = select(ConsentRow).where(ConsentRow.recording_id == recording_id).order_by(ConsentRow.version)
        return tuple(_consent(row) for row in self._session.scalars(asked))

    def put_consent(self, consent: Consent) -> None:
        """Store the next version of a consent.

        Raises
        ------
        EntryRefused
            If it is not the next one: somebody else noted one meanwhile.
        """
        known = self._session.scalar(
            select(func.max(ConsentRow.version)).where(ConsentRow.recording_id == consent.recording_id)
        )
        if consent.version != 1 + (known or 0):
            raise EntryRefused(
                f"Version {consent.version} of this consent came, and version {known or 0} is the newest: somebody "
                "changed it meanwhile. Nothing was changed; reload and look again."
            )
        columns = {**asdict(consent), "audiences": sorted(consent.audiences)}
        self._session.add(ConsentRow(**columns))
        self._session.flush()


def _of_one() -> Any:
    """Return what asks for all that decides who else may see one recording: a row for each request, at least one."""
    share, consent, request, later = ShareRow, ConsentRow, RequestRow, aliased(ConsentRow)
    recording_id: BindParameter[str] = bindparam("recording_id")
    newest = select(func.max(later.version)).where(later.recording_id == recording_id).scalar_subquery()
    return (
        select(share, consent, request, exists().where(ExemplarRow.recording_id == recording_id))
        .select_from(RecordingRow)
        .outerjoin(share, share.recording_id == RecordingRow.id)
        .outerjoin(consent, (consent.recording_id == RecordingRow.id) & (consent.version == newest))
        .outerjoin(request, request.recording_id == RecordingRow.id)
        .where(RecordingRow.id == recording_id)
        .order_by(request.at, request.person_id)
    )


_OF_ONE: Final = _of_one()
"""Built once: each request asks it several times, and building costs more than asking."""


def _request(row: RequestRow) -> Request:
    return Request(row.recording_id, row.person_id, Purpose(row.purpose), row.asked_by, row.at)


def _consent(row: ConsentRow) -> Consent:
    return Consent(
        recording_id=row.recording_id,
        version=row.version,
        audiences=frozenset(Audience(one) for one in row.audiences),
        until=row.until,
        bystanders=Bystanders(row.bystanders),
        partner=row.partner,
        noted_by=row.noted_by,
        at=row.at,
        withdrawn=row.withdrawn,
    )
