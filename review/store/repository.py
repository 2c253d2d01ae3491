"""What is stored, in the words of the domain; every method runs inside one transaction."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from dataclasses import asdict
from typing import Any, Final

from sqlalchemy import ColumnElement, and_, bindparam, delete, func, insert, or_, select, update
from sqlalchemy.orm import Session

from review.domain.checklist import DEFAULT_CHECKLIST, Checklist
from review.domain.entries import Entry
from review.domain.errors import EntryRefused, NotFound
from review.domain.model import Comment, Grade, Mark, Person, Pointing, Recording, Value
from review.domain.sharing import UNSHARED
from review.store.class_tables import ConsentRow
from review.store.database import Database, open_database
from review.store.home import Home
from review.store.ledger import Ledger
from review.store.parts import Parts
from review.store.rows import (
    RECORDING_COLUMNS,
    Job,
    read_comment,
    read_entry_row,
    read_grade,
    read_job,
    read_mark,
    read_person,
    read_pointing,
    read_recording,
    read_value,
    recording_columns,
    value_columns,
)
from review.store.tables import (
    ClientRow,
    CommentRow,
    EntryRow,
    ExemplarRow,
    GradeRow,
    JobRow,
    MarkRow,
    PersonRow,
    PointingRow,
    RecordingRow,
    SignOffRow,
    ValueRow,
)

__all__ = ["Job", "Repository", "reading", "repository"]


class Repository(Parts):
    """All that is stored, seen from inside one transaction; get one from `repository` or `reading`.

    Parameters
    ----------
    session
        Open transaction.
    reading
        Whether it only reads: what was read then stays, and much of it is asked for once.
    """

    def __init__(self, session: Session, reading: bool = False) -> None:
        super().__init__(session, reading)
        self._marks = Ledger(session, "mark", MarkRow, read_mark, [MarkRow.onset_s, MarkRow.offset_s], reading)
        self._grades = Ledger(session, "grade", GradeRow, read_grade, [], reading)
        self._comments = Ledger(session, "comment", CommentRow, read_comment, [CommentRow.onset_s], reading)
        self._entries = Ledger(session, "entry", EntryRow, read_entry_row, [], reading)
        self._recordings: tuple[Recording, ...] | None = None
        self._people: tuple[Person, ...] | None = None
        self.erased = False

    def savepoint(self) -> AbstractContextManager[object]:
        """Open a part of the transaction that an error undoes alone."""
        return self._session.begin_nested()

    def recordings(self) -> tuple[Recording, ...]:
        """Return all recordings, the last added first."""
        if self._recordings is not None and self._reading:
            return self._recordings
        of = RecordingRow.__table__.c
        asked = select(*(of[name] for name in RECORDING_COLUMNS)).order_by(of.added_at.desc(), of.id)
        sharings = self.sharings().by_recording()
        rows = self._session.execute(asked).all()
        found = tuple(read_recording(row, sharings.get(row.id, UNSHARED)) for row in rows)
        self._recordings = found
        return found

    def recordings_of(self, recording_ids: Iterable[str]) -> tuple[Recording, ...]:
        """Return those of some recordings that there are, the last added first."""
        return self._chosen(RecordingRow.id.in_(list(recording_ids)))

    def attempts_before(self, recording: Recording) -> tuple[Recording, ...]:
        """Return what the same person added before a recording for the same checklist, the last one first."""
        row = RecordingRow
        same = and_(row.added_by == recording.added_by, row.checklist_id.is_not_distinct_from(recording.checklist_id))
        return self._chosen(and_(same, row.added_at < recording.added_at))

    def _chosen(self, which: ColumnElement[bool]) -> tuple[Recording, ...]:
        asked = select(RecordingRow).where(which).order_by(RecordingRow.added_at.desc(), RecordingRow.id)
        rows = self._session.scalars(asked).all()
        sharings = self.sharings().by_recording([row.id for row in rows]) if rows else {}
        return tuple(read_recording(row, sharings.get(row.id, UNSHARED)) for row in rows)

    def newest_owner(self) -> str | None:
        """Return the id of who added the newest recording, None where there is none."""
        row = RecordingRow
        return self._session.scalar(select(row.added_by).order_by(row.added_at.desc(), row.id).limit(1))

    def recording(self, asked: str) -> Recording:
        """Return the recording with this id, or with the only id that begins so, or the only one of this name.

        Where people sign in, names and starts of ids count for nothing: they would tell of what others added.

        Raises
        ------
        NotFound
            If none or several do.
        """
        named = self._session.get(RecordingRow, asked)
        if named is not None:
            return self._read(named)
        if self.courses().signing_in():
            raise NotFound(
                f"There is no recording {asked[:40]!r}; it may have been erased. Go back to your recordings."
            )
        rows = self._session.execute(select(RecordingRow.id, RecordingRow.name).order_by(RecordingRow.id)).all()
        names = {known: name for known, name in rows}
        begun = [known for known in names if asked and known.startswith(asked)]
        fitting = begun or [known for known in names if names[known] == asked]
        if len(fitting) > 1:
            how = "begins the ids of" if begun else "is the name of"
            raise NotFound(
                f"{asked!r} {how} {len(fitting)} recordings: {', '.join(fitting[:5])}. Ask for one of these."
            )
        if not fitting:
            raise NotFound.among("recording", asked, {*names, *names.values()})
        return self._read(self._session.get_one(RecordingRow, fitting[0]))

    def _read(self, row: RecordingRow) -> Recording:
        return read_recording(row, self.sharings().of(row.id))

    def recording_of(self, sha256: str) -> Recording | None:
        """Return the recording of the film with this SHA-256, or None."""
        asked = select(RecordingRow).where(RecordingRow.sha256 == sha256).order_by(RecordingRow.id)
        row = self._session.scalars(asked).first()
        return None if row is None else self._read(row)

    def add_recording(self, recording: Recording) -> None:
        """Store a new recording.

        Raises
        ------
        EntryRefused
            If its film or its id is there already.
        """
        twin = self.recording_of(recording.sha256)
        if twin is not None:
            raise EntryRefused(f"This film is here already, as recording {twin.id} ({twin.name}). Nothing was added.")
        self._session.execute(insert(RecordingRow).values(recording_columns(recording)))
        if recording.sharing.course_id is not None:
            self.sharings().put_in_course(recording.id, recording.sharing.course_id, recording.sharing.handed_in_at)

    def update_recording(self, recording: Recording) -> None:
        """Store changed facts of a recording; its id and its film stay.

        Raises
        ------
        NotFound
            If there is no recording with its id and film.
        """
        row = RecordingRow
        known = self._session.scalars(
            select(row.id).where(row.id == recording.id, row.sha256 == recording.sha256).order_by(row.id)
        ).first()
        if known is None:
            raise NotFound(f"No recording {recording.id!r} of this film is stored; it may have been erased. Reload.")
        self._session.execute(update(row).where(row.id == recording.id).values(recording_columns(recording)))
        self._session.expire_all()

    def erase_recording(self, recording_id: str) -> None:
        """Erase a recording with its marks, grades, comments, entries, their history, its values and its job.

        Its sign-off goes with it. Exemplars that are stretches of it go as well.

        Its files are not touched: see `review.store.media.erase_media` and `review.store.trackstore.TrackStore.erase`.
        """
        recording = self.recording(recording_id)
        self._session.execute(delete(RecordingRow).where(RecordingRow.id == recording.id))
        self._session.expunge_all()
        self.erased = True

    def people(self) -> tuple[Person, ...]:
        """Return everybody, by code."""
        if self._people is not None and self._reading:
            return self._people
        asked = select(PersonRow).order_by(PersonRow.code)
        roles = self.courses().roles() if self.courses().signing_in() else None
        self._people = tuple(
            read_person(row, None if roles is None else roles.get(row.id, {})) for row in self._session.scalars(asked)
        )
        return self._people

    def person(self, asked: str) -> Person:
        """Return the person with this code or id.

        Raises
        ------
        NotFound
            If there is none; the message names the known codes.
        """
        query = select(PersonRow).where(or_(PersonRow.code == asked, PersonRow.id == asked)).order_by(PersonRow.code)
        row = self._session.scalars(query).first()
        if row is None:
            known = () if self.courses().signing_in() else self.people()
            raise NotFound.among("person", asked, [person.code for person in known])
        return read_person(row, self.courses().roles_of(row.id) if self.courses().signing_in() else None)

    def put_person(self, person: Person) -> None:
        """Store a person, new or changed."""
        self._session.merge(PersonRow(id=person.id, code=person.code, role=person.role.value))
        self._session.flush()

    def checklists(self) -> tuple[Checklist, ...]:
        """Return the newest version of each checklist, retired ones too, by id."""
        return self.sheets().newest()

    def checklist(self, checklist_id: str, version: int | None = None) -> Checklist:
        """Return a checklist; without `version` the newest one; raises NotFound for an unknown one."""
        return self.sheets().get(checklist_id, version)

    def sheet_of(self, recording: Recording) -> Checklist:
        """Return the checklist that a recording is reviewed by; `DEFAULT_CHECKLIST` where none was chosen."""
        return self.checklist(recording.checklist_id or DEFAULT_CHECKLIST, recording.checklist_version)

    def put_checklist(self, checklist: Checklist, text: str, person_id: str | None = None) -> None:
        """Store a version of a checklist; raises EntryRefused if it is stored with another text."""
        self.sheets().put(checklist, text, person_id)

    def marks(self, recording_id: str) -> tuple[Mark, ...]:
        """Return the current marks of a recording, by onset."""
        return self._marks.current(recording_id)

    def marks_of(self, recording_ids: Iterable[str]) -> dict[str, tuple[Mark, ...]]:
        """Return the current marks of each of many recordings, by onset."""
        return self._marks.current_of(recording_ids)

    def mark(self, mark_id: str) -> Mark:
        """Return a mark's last revision, even if that removed it; raises NotFound for an unknown id."""
        return self._marks.latest(mark_id)

    def put_mark(self, mark: Mark) -> None:
        """Add a mark's next revision; raises EntryRefused if it was changed meanwhile."""
        self._marks.put(mark)

    def mark_history(self, mark_id: str) -> tuple[Mark, ...]:
        """Return all revisions of a mark, oldest first."""
        return self._marks.history(mark_id)

    def grades(self, recording_id: str) -> tuple[Grade, ...]:
        """Return the current grades of a recording, in the order in which they were first given."""
        return self._grades.current(recording_id)

    def grade(self, grade_id: str) -> Grade:
        """Return a grade's last revision, even if that withdrew it; raises NotFound for an unknown id."""
        return self._grades.latest(grade_id)

    def put_grade(self, grade: Grade) -> None:
        """Add a grade's next revision; raises EntryRefused if it was changed meanwhile."""
        self._grades.put(grade)

    def grade_history(self, grade_id: str) -> tuple[Grade, ...]:
        """Return all revisions of a grade, oldest first."""
        return self._grades.history(grade_id)

    def grade_histories(self, recording_id: str) -> dict[str, tuple[Grade, ...]]:
        """Return all revisions of each grade of a recording by the grade's id, oldest first."""
        return self._grades.histories(recording_id)

    def comments(self, recording_id: str) -> tuple[Comment, ...]:
        """Return the current comments of a recording, by the moment they speak of, then as written."""
        return self._comments.current(recording_id)

    def comment(self, comment_id: str) -> Comment:
        """Return a comment's last revision, even if that removed it; raises NotFound for an unknown id."""
        return self._comments.latest(comment_id)

    def put_comment(self, comment: Comment) -> None:
        """Add a comment's next revision; raises EntryRefused if it was changed meanwhile."""
        self._comments.put(comment)

    def comment_history(self, comment_id: str) -> tuple[Comment, ...]:
        """Return all revisions of a comment, oldest first."""
        return self._comments.history(comment_id)

    def entries(self, recording_id: str) -> tuple[Entry, ...]:
        """Return the current entries of a recording, in the order in which they were first made."""
        return self._entries.current(recording_id)

    def entry(self, entry_id: str) -> Entry:
        """Return an entry's last revision, even if that withdrew it; raises NotFound for an unknown id."""
        return self._entries.latest(entry_id)

    def put_entry(self, entry: Entry) -> None:
        """Add an entry's next revision; raises EntryRefused if it was changed meanwhile."""
        self._entries.put(entry)

    def entry_history(self, entry_id: str) -> tuple[Entry, ...]:
        """Return all revisions of an entry, oldest first."""
        return self._entries.history(entry_id)

    def version(self, recording_id: str) -> str:
        """Return a text that changes whenever somebody says something of a recording, or takes it back.

        It changes as well when a consent to any recording does: films may then no longer be shown beside it, or again.
        """
        return "-".join(map(str, self._session.execute(_STATE, {"recording_id": recording_id}).one()))

    def pointings(self, recording_id: str) -> tuple[Pointing, ...]:
        """Return where people said that the examined person is, by moment, then as said."""
        row = PointingRow
        asked = select(row).where(row.recording_id == recording_id, row.removed.is_(False))
        return tuple(
            read_pointing(found) for found in self._session.scalars(asked.order_by(row.time_s, row.at, row.id))
        )

    def put_pointing(self, pointing: Pointing) -> None:
        """Store a pointing, new or taken back."""
        self._session.merge(PointingRow(**asdict(pointing)))
        self._session.flush()

    def values(self, recording_id: str) -> tuple[Value, ...]:
        """Return a recording's computed values: those of the whole film first, then by step, as they were put."""
        row = ValueRow
        asked = select(row).where(row.recording_id == recording_id)
        ordered = asked.order_by(row.step_id.nulls_first(), row.position)
        return tuple(read_value(found) for found in self._session.scalars(ordered))

    def put_values(self, recording_id: str, step_id: str | None, values: Sequence[Value]) -> None:
        """Replace the computed values of one step, or with None those of the whole film.

        NaN in an estimate is stored as None.

        Raises
        ------
        EntryRefused
            If a value belongs to another recording or step.
        """
        strays = {(value.recording_id, value.step_id) for value in values} - {(recording_id, step_id)}
        if strays:
            raise EntryRefused(
                f"Values of {sorted(map(str, strays))} came; expected those of recording {recording_id!r}, step "
                f"{step_id!r}. Nothing was changed."
            )
        row = ValueRow
        mine = row.step_id.is_(None) if step_id is None else row.step_id == step_id
        self._session.execute(delete(row).where(row.recording_id == recording_id, mine))
        if values:
            self._session.execute(insert(row), [value_columns(value, place) for place, value in enumerate(values)])

    def applied(self, client: str) -> int:
        """Return the number of the last operation applied for a browser; 0 before the first."""
        row = self._session.get(ClientRow, client)
        return 0 if row is None else row.applied

    def set_applied(self, client: str, seq: int) -> None:
        """Note the number of the last operation applied for a browser."""
        self._session.merge(ClientRow(client=client, applied=seq))
        self._session.flush()

    def job(self, recording_id: str) -> Job | None:
        """Return how far the analysis of a recording is; None if none was asked for."""
        row = self._session.get(JobRow, recording_id)
        return None if row is None else read_job(row)

    def jobs(self) -> tuple[Job, ...]:
        """Return how far all analyses are, those that were served longest ago first."""
        row = JobRow
        asked = select(row).order_by(row.served.nulls_first(), row.at, row.recording_id)
        return tuple(read_job(found) for found in self._session.scalars(asked))

    def put_job(self, job: Job) -> None:
        """Note how far the analysis of a recording is."""
        self._session.merge(JobRow(**asdict(job)))
        self._session.flush()


def _state() -> Any:
    """Return what asks for all that `Repository.version` tells."""
    said = [
        select(func.count()).where(row.recording_id == bindparam("recording_id")).scalar_subquery()
        for row in (MarkRow, GradeRow, CommentRow, EntryRow, SignOffRow)
    ]
    everywhere = [select(func.count()).select_from(row).scalar_subquery() for row in (ExemplarRow, ConsentRow)]
    return select(*said, *everywhere, select(func.max(ExemplarRow.at)).scalar_subquery())


_STATE: Final = _state()
"""Built once: every open page asks it again and again."""


@contextmanager
def repository(home: Home | Database) -> Iterator[Repository]:
    """Open one transaction that may write: committed on leaving, rolled back after an error.

    It holds the write lock of the file: keep it short, and use `reading` where nothing is written.
    """
    database = open_database(home) if isinstance(home, Home) else home
    with database.transaction() as session:
        work = Repository(session)
        yield work
    if work.erased:
        database.scrub()


@contextmanager
def reading(home: Home | Database) -> Iterator[Repository]:
    """Open one transaction that only reads; it blocks nobody, and a write in it raises StoreBroken."""
    database = open_database(home) if isinstance(home, Home) else home
    with database.transaction(writing=False) as session:
        yield Repository(session, reading=True)
