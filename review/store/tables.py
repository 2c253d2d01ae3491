"""The tables, as SQLAlchemy sees them; `migrations` makes them.

Marks, grades, comments and entries are never changed in place: each change is one more row with the same id and the
next revision. SQLite keeps no NaN: it would turn into NULL unasked, so NaN is turned into None in `review.store.rows`.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any, ClassVar

from sqlalchemy import JSON, BigInteger, Float, ForeignKey, ForeignKeyConstraint, String, Text
from sqlalchemy.engine import Dialect
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column
from sqlalchemy.types import TypeDecorator

from review.domain.errors import StoreBroken
from review.domain.text import check_text


class Moment(TypeDecorator[datetime]):
    """A moment in time, kept as text in ISO 8601 and UTC."""

    impl = String(40)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> str | None:
        """Turn a time with a zone into text."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise StoreBroken(f"The time {value} came without a zone; expected one such as datetime.now(UTC).")
        return value.astimezone(UTC).isoformat(timespec="microseconds")

    def process_result_value(self, value: Any | None, dialect: Dialect) -> datetime | None:
        """Turn text back into a time with the zone UTC."""
        return None if value is None else datetime.fromisoformat(value)


class Line(TypeDecorator[str]):
    """A short text that every kind of database keeps: PostgreSQL has no character NUL, so a file refuses it too."""

    impl = String
    cache_ok = True

    def process_bind_param(self, value: str | None, dialect: Dialect) -> str | None:
        """Refuse what one of the kinds cannot keep."""
        return None if value is None else check_text(value)


class Prose(Line):
    """A long text."""

    impl = Text
    cache_ok = True


class Structure(TypeDecorator[Any]):
    """Lists and tables of names, kept as JSON, whose texts every kind of database keeps."""

    impl = JSON(none_as_null=True)
    cache_ok = True

    def process_bind_param(self, value: Any | None, dialect: Dialect) -> Any | None:
        """Refuse what one of the kinds cannot keep."""
        if value is not None:
            _check_all(value)
        return value


def _check_all(value: Any) -> None:
    match value:
        case str():
            check_text(value)
        case dict():
            for name, inner in value.items():
                check_text(name)
                _check_all(inner)
        case list() | tuple():
            for inner in value:
                _check_all(inner)


class Base(DeclarativeBase):
    """Root of all tables."""

    type_annotation_map: ClassVar[dict[Any, Any]] = {
        datetime: Moment,
        float: Float(53),
        str: Line(),
        list[str]: Structure(),
        list[Any]: Structure(),
        dict[str, Any]: Structure(),
    }


class PersonRow(Base):
    """A person."""

    __tablename__ = "people"

    id: Mapped[str] = mapped_column(primary_key=True)
    code: Mapped[str] = mapped_column(unique=True)
    role: Mapped[str]


class ChecklistRow(Base):
    """A check-off sheet in one version, as the text of its file."""

    __tablename__ = "checklists"

    id: Mapped[str] = mapped_column(primary_key=True)
    version: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    title: Mapped[str]
    text: Mapped[str] = mapped_column(Prose)
    saved_by: Mapped[str | None]
    saved_at: Mapped[datetime | None]


class RetiredChecklistRow(Base):
    """That a check-off sheet is not offered for new attempts, in any version."""

    __tablename__ = "retired_checklists"

    checklist_id: Mapped[str] = mapped_column(primary_key=True)
    person_id: Mapped[str] = mapped_column(ForeignKey("people.id"))
    at: Mapped[datetime]


class RecordingRow(Base):
    """A recording with the facts read from its film."""

    __tablename__ = "recordings"
    __table_args__ = (
        ForeignKeyConstraint(["checklist_id", "checklist_version"], ["checklists.id", "checklists.version"]),
    )

    id: Mapped[str] = mapped_column(primary_key=True)
    sha256: Mapped[str] = mapped_column(unique=True)
    name: Mapped[str]
    added_at: Mapped[datetime]
    added_by: Mapped[str]
    duration_s: Mapped[float]
    frames: Mapped[int]
    width_px: Mapped[int]
    height_px: Mapped[int]
    rotation_deg: Mapped[int]
    codec: Mapped[str]
    bit_depth: Mapped[int]
    has_sound: Mapped[bool]
    size_bytes: Mapped[int] = mapped_column(BigInteger)
    mirrored: Mapped[bool]
    attempt: Mapped[int]
    checklist_id: Mapped[str | None]
    checklist_version: Mapped[int | None]
    partner_height_mm: Mapped[float | None]
    original: Mapped[str]
    playback: Mapped[str]
    notes: Mapped[list[str]]
    slow_motion: Mapped[float]


class PointingRow(Base):
    """Where somebody said that the examined person is."""

    __tablename__ = "pointings"

    id: Mapped[str] = mapped_column(primary_key=True)
    recording_id: Mapped[str] = mapped_column(ForeignKey("recordings.id", ondelete="CASCADE"), index=True)
    time_s: Mapped[float]
    x: Mapped[float]
    y: Mapped[float]
    person_id: Mapped[str] = mapped_column(ForeignKey("people.id"))
    at: Mapped[datetime]
    removed: Mapped[bool]


class RevisedRow(Base):
    """One revision of what a person said or wrote of a recording."""

    __abstract__ = True

    id: Mapped[str] = mapped_column(primary_key=True)
    revision: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    recording_id: Mapped[str] = mapped_column(ForeignKey("recordings.id", ondelete="CASCADE"), index=True)
    person_id: Mapped[str] = mapped_column(ForeignKey("people.id"))
    at: Mapped[datetime]
    removed: Mapped[bool]


class SaidRow(RevisedRow):
    """What marks, grades, comments and entries have in common."""

    __abstract__ = True

    side: Mapped[str | None]


class MarkRow(SaidRow):
    """One revision of a mark."""

    __tablename__ = "marks"

    step_id: Mapped[str]
    onset_s: Mapped[float]
    offset_s: Mapped[float]


class GradeRow(SaidRow):
    """One revision of a grade."""

    __tablename__ = "grades"

    step_id: Mapped[str]
    criterion_id: Mapped[str | None]
    level: Mapped[str]
    confidence: Mapped[int | None]
    after_reveal: Mapped[bool | None]


class CommentRow(SaidRow):
    """One revision of a comment."""

    __tablename__ = "comments"

    step_id: Mapped[str | None]
    onset_s: Mapped[float]
    offset_s: Mapped[float]
    text: Mapped[str] = mapped_column(Prose)
    reply_to: Mapped[str | None]
    shape: Mapped[dict[str, Any] | None]
    resolved_by: Mapped[str | None]
    resolved_at: Mapped[datetime | None]


class EntryRow(SaidRow):
    """One revision of an entry: the result of a test as typed in, and what was read from it."""

    __tablename__ = "entries"

    step_id: Mapped[str]
    kind: Mapped[str]
    text: Mapped[str] = mapped_column(Prose)
    fields: Mapped[dict[str, Any]]


class CorrectionRow(RevisedRow):
    """One revision of what a person wrote in the place of words that were heard."""

    __tablename__ = "corrections"

    onset_s: Mapped[float]
    offset_s: Mapped[float]
    text: Mapped[str] = mapped_column(Prose)


class PhraseRow(Base):
    """A sentence that a person keeps to put into comments."""

    __tablename__ = "phrases"

    id: Mapped[str] = mapped_column(primary_key=True)
    person_id: Mapped[str] = mapped_column(ForeignKey("people.id"), index=True)
    text: Mapped[str] = mapped_column(Prose)
    at: Mapped[datetime]


class ExemplarRow(Base):
    """A stretch of a recording that shows a step done well."""

    __tablename__ = "exemplars"

    id: Mapped[str] = mapped_column(primary_key=True)
    checklist_id: Mapped[str] = mapped_column(index=True)
    step_id: Mapped[str]
    side: Mapped[str | None]
    recording_id: Mapped[str] = mapped_column(ForeignKey("recordings.id", ondelete="CASCADE"), index=True)
    onset_s: Mapped[float]
    offset_s: Mapped[float]
    person_id: Mapped[str] = mapped_column(ForeignKey("people.id"))
    at: Mapped[datetime]


class RefusalRow(Base):
    """That a person does not want a step proposed in a stretch of a recording."""

    __tablename__ = "refusals"

    id: Mapped[str] = mapped_column(primary_key=True)
    recording_id: Mapped[str] = mapped_column(ForeignKey("recordings.id", ondelete="CASCADE"), index=True)
    step_id: Mapped[str]
    side: Mapped[str | None]
    onset_s: Mapped[float]
    offset_s: Mapped[float]
    person_id: Mapped[str] = mapped_column(ForeignKey("people.id"))
    at: Mapped[datetime]


class UncoveringRow(Base):
    """That a person came to see what is covered of a step, or of all steps; no step and no side are empty texts."""

    __tablename__ = "uncoverings"

    recording_id: Mapped[str] = mapped_column(ForeignKey("recordings.id", ondelete="CASCADE"), primary_key=True)
    person_id: Mapped[str] = mapped_column(ForeignKey("people.id"), primary_key=True)
    step_id: Mapped[str] = mapped_column(primary_key=True)
    side: Mapped[str] = mapped_column(primary_key=True)
    at: Mapped[datetime]


class SignOffRow(Base):
    """One version of a recording's sign-off, as it was signed."""

    __tablename__ = "sign_offs"

    recording_id: Mapped[str] = mapped_column(ForeignKey("recordings.id", ondelete="CASCADE"), primary_key=True)
    version: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    person_id: Mapped[str] = mapped_column(ForeignKey("people.id"))
    at: Mapped[datetime]
    statement: Mapped[str] = mapped_column(Prose)
    digest: Mapped[str]


class ValueRow(Base):
    """A computed value; derived data, replaced when computed again."""

    __tablename__ = "computed_values"

    id: Mapped[int] = mapped_column(primary_key=True)
    recording_id: Mapped[str] = mapped_column(ForeignKey("recordings.id", ondelete="CASCADE"), index=True)
    step_id: Mapped[str | None]
    position: Mapped[int]
    step_side: Mapped[str | None]
    measure: Mapped[str]
    unit: Mapped[str]
    value: Mapped[float | None]
    low: Mapped[float | None]
    high: Mapped[float | None]
    usable: Mapped[float]
    reasons: Mapped[list[str]]
    evidence: Mapped[list[Any]]
    side: Mapped[str | None]
    events: Mapped[list[Any]]


class ClientRow(Base):
    """How far a browser's queue of operations was applied."""

    __tablename__ = "clients"

    client: Mapped[str] = mapped_column(primary_key=True)
    applied: Mapped[int]


class JobRow(Base):
    """How far the analysis of a recording is."""

    __tablename__ = "jobs"

    recording_id: Mapped[str] = mapped_column(ForeignKey("recordings.id", ondelete="CASCADE"), primary_key=True)
    state: Mapped[str]
    done: Mapped[int]
    total: Mapped[int]
    message: Mapped[str]
    at: Mapped[datetime]
    pid: Mapped[int | None]
    stage: Mapped[str]
    left_s: Mapped[float | None]
    served: Mapped[datetime | None]


class LeaseRow(Base):
    """A unit of work that a process has taken, until a moment, or that failed before."""

    __tablename__ = "leases"

    recording_id: Mapped[str] = mapped_column(ForeignKey("recordings.id", ondelete="CASCADE"), primary_key=True)
    unit: Mapped[str] = mapped_column(primary_key=True)
    holder: Mapped[str]
    until: Mapped[datetime]
    tries: Mapped[int]
