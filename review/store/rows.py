"""From rows to domain types and back; where missing numbers are told apart on purpose."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from datetime import datetime
from typing import Any, Final, Literal, cast

from sqlalchemy import Row

from review.domain.captions import Correction
from review.domain.course import CourseRole
from review.domain.entries import Entry
from review.domain.model import (
    Comment,
    Estimate,
    Event,
    Exemplar,
    Grade,
    Interval,
    Mark,
    Person,
    Phrase,
    Pointing,
    Reason,
    Recording,
    Role,
    Shape,
    Side,
    Uncovering,
    Value,
)
from review.domain.proposal import Refusal
from review.domain.sharing import Sharing
from review.store.tables import (
    CommentRow,
    CorrectionRow,
    EntryRow,
    ExemplarRow,
    GradeRow,
    JobRow,
    MarkRow,
    PersonRow,
    PhraseRow,
    PointingRow,
    RecordingRow,
    RefusalRow,
    UncoveringRow,
    ValueRow,
)

RECORDING_COLUMNS: Final = tuple(field.name for field in fields(Recording) if field.name != "sharing")

JobState = Literal["waiting", "running", "done", "failed", "stopped"]


@dataclass(frozen=True, slots=True)
class Job:
    """How far the analysis of a recording is: `done` of `total` frames, and which process works on it.

    `stage` says in plain words what is being done, `left_s` about how many seconds it will still take, `served` when
    a unit of it was last taken up.
    """

    recording_id: str
    state: JobState
    done: int
    total: int
    message: str
    at: datetime
    pid: int | None = None
    stage: str = ""
    left_s: float | None = None
    served: datetime | None = None


def read_person(row: PersonRow, courses: Mapping[str, CourseRole] | None = None) -> Person:
    """Make the person of a row, with what the person is in which course."""
    return Person(id=row.id, code=row.code, role=Role(row.role), courses=courses)


def read_recording(row: RecordingRow | Row[Any], sharing: Sharing) -> Recording:
    """Make the recording of a row, with who else may see it."""
    facts = {name: getattr(row, name) for name in RECORDING_COLUMNS}
    return Recording(**{**facts, "notes": tuple(row.notes), "sharing": sharing})


def recording_columns(recording: Recording) -> dict[str, Any]:
    """Make the columns of a recording; who else may see it has tables of its own."""
    facts = {name: getattr(recording, name) for name in RECORDING_COLUMNS}
    return {**facts, "notes": list(recording.notes)}


def read_mark(row: MarkRow) -> Mark:
    """Make the mark of a row."""
    return Mark(
        id=row.id,
        recording_id=row.recording_id,
        step_id=row.step_id,
        side=_side(row.side),
        interval=Interval(row.onset_s, row.offset_s),
        person_id=row.person_id,
        at=row.at,
        revision=row.revision,
        removed=row.removed,
    )


def read_grade(row: GradeRow) -> Grade:
    """Make the grade of a row."""
    return Grade(
        id=row.id,
        recording_id=row.recording_id,
        step_id=row.step_id,
        side=_side(row.side),
        criterion_id=row.criterion_id,
        level=row.level,
        confidence=row.confidence,
        person_id=row.person_id,
        at=row.at,
        revision=row.revision,
        removed=row.removed,
        after_reveal=row.after_reveal,
    )


def read_comment(row: CommentRow) -> Comment:
    """Make the comment of a row."""
    return Comment(
        id=row.id,
        recording_id=row.recording_id,
        interval=Interval(row.onset_s, row.offset_s),
        text=row.text,
        person_id=row.person_id,
        at=row.at,
        step_id=row.step_id,
        side=_side(row.side),
        reply_to=row.reply_to,
        revision=row.revision,
        removed=row.removed,
        shape=None if row.shape is None else Shape(**row.shape),
        resolved_by=row.resolved_by,
        resolved_at=row.resolved_at,
    )


def read_entry_row(row: EntryRow) -> Entry:
    """Make the entry of a row."""
    return Entry(**{field.name: getattr(row, field.name) for field in fields(Entry)})


def said_columns(said: Mark | Grade | Comment | Entry | Exemplar | Correction | Refusal) -> dict[str, Any]:
    """Make the columns of a mark, grade, comment, entry, exemplar, corrected caption or refusal."""
    columns = {field.name: getattr(said, field.name) for field in fields(said)}
    if columns.get("shape") is not None:
        columns["shape"] = asdict(columns["shape"])
    interval = columns.pop("interval", None)
    return columns if interval is None else {**columns, "onset_s": interval.onset_s, "offset_s": interval.offset_s}


def read_correction(row: CorrectionRow | Row[Any]) -> Correction:
    """Make the corrected caption of a row."""
    seconds = Interval(row.onset_s, row.offset_s)
    return Correction(
        row.id, row.recording_id, seconds, row.text, row.person_id, row.at, row.revision, removed=row.removed
    )


def read_phrase(row: PhraseRow) -> Phrase:
    """Make the phrase of a row."""
    return Phrase(row.id, row.person_id, row.text, row.at)


def read_exemplar(row: ExemplarRow) -> Exemplar:
    """Make the exemplar of a row."""
    seconds = Interval(row.onset_s, row.offset_s)
    place = (row.checklist_id, row.step_id, _side(row.side))
    return Exemplar(row.id, *place, row.recording_id, seconds, row.person_id, row.at)


def read_refusal(row: RefusalRow) -> Refusal:
    """Make the refusal of a row."""
    seconds = Interval(row.onset_s, row.offset_s)
    return Refusal(row.id, row.recording_id, row.step_id, _side(row.side), seconds, row.person_id, row.at)


def read_uncovering(row: UncoveringRow) -> Uncovering:
    """Make the uncovering of a row."""
    return Uncovering(row.recording_id, row.person_id, row.step_id or None, _side(row.side or None), row.at)


def read_value(row: ValueRow) -> Value:
    """Make the value of a row."""
    estimate = Estimate(
        value=row.value,
        low=row.low,
        high=row.high,
        usable=row.usable,
        reasons=tuple(Reason[name] for name in row.reasons),
        evidence=tuple(Interval(onset_s, offset_s) for onset_s, offset_s in row.evidence),
        side=_side(row.side),
    )
    return Value(
        recording_id=row.recording_id,
        measure=row.measure,
        unit=row.unit,
        estimate=estimate,
        step_id=row.step_id,
        step_side=_side(row.step_side),
        events=tuple(_read_event(event) for event in row.events),
    )


def value_columns(value: Value, position: int) -> dict[str, Any]:
    """Make the columns of a value: NaN becomes None, and a share of usable frames that is NaN becomes 0."""
    estimate = value.estimate
    return {
        "recording_id": value.recording_id,
        "step_id": value.step_id,
        "position": position,
        "step_side": value.step_side,
        "measure": value.measure,
        "unit": value.unit,
        "value": said(estimate.value),
        "low": said(estimate.low),
        "high": said(estimate.high),
        "usable": said(estimate.usable) or 0.0,
        "reasons": [Reason(reason).name for reason in estimate.reasons],
        "evidence": [_pair(interval) for interval in estimate.evidence],
        "side": estimate.side,
        "events": [
            {"kind": event.kind, "interval": _pair(event.interval), "side": event.side, "peak": said(event.peak)}
            for event in value.events
        ],
    }


def said(number: float | None) -> float | None:
    """Return a number as Python's own float, and None for one that is missing (None or NaN)."""
    return None if number is None or math.isnan(number) else float(number)


def read_job(row: JobRow) -> Job:
    """Make the job of a row."""
    found = {field.name: getattr(row, field.name) for field in fields(Job)}
    return Job(**found | {"state": cast(JobState, row.state)})


def read_pointing(row: PointingRow) -> Pointing:
    """Make the pointing of a row."""
    return Pointing(**{field.name: getattr(row, field.name) for field in fields(Pointing)})


def _read_event(event: Mapping[str, Any]) -> Event:
    return Event(
        kind=event["kind"], interval=Interval(*event["interval"]), side=_side(event["side"]), peak=event["peak"]
    )


def _pair(interval: Interval) -> list[float]:
    return [float(interval.onset_s), float(interval.offset_s)]


def _side(text: str | None) -> Side | None:
    return cast("Side | None", text)
