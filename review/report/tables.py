"""The rows of the tables that are exported: grades, marks, comments, entries, values and sign-off of one attempt."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain
from typing import Any, Final

from review.domain.checklist import Checklist, Criterion, Section, Step
from review.domain.entries import Entry, words_of
from review.domain.model import Comment, Grade, Interval, Mark, Person, Side, Value
from review.exchange.columns import Row
from review.exchange.said import SCHEMA_VERSION
from review.measures import measure
from review.report.seconds import Seconds
from review.report.sign_off import ToldVersion
from review.report.told import GIVEN, Told, milliseconds
from review.store.home import Home

Item = tuple[Section, Step, Side | None, Criterion | None]
"""What is graded: a step of a section on a side, as a whole or one criterion of it."""


def rows_of(home: Home, attempt: Told) -> dict[str, list[Row]]:
    """Return the rows of each table by its name; what is covered for the person who asks is not in them."""
    return {
        "grades": list(_grades(attempt)),
        "marks": [_mark(attempt, one) for one in attempt.marks],
        "comments": [_comment(attempt, one) for one in attempt.comments],
        "entries": [_entry(attempt, one) for one in attempt.entries],
        "values": list(_values(home, attempt)),
        "sign_offs": [_sign_off(attempt, one) for one in attempt.sign_off.versions],
    }


def _shared(attempt: Told) -> dict[str, Any]:
    film = attempt.recording
    return {
        "schema_version": SCHEMA_VERSION,
        "film_sha256": film.sha256,
        "recording_id": film.id,
        "recording_name": film.name,
        "attempt": film.attempt,
        "checklist_id": attempt.sheet.id,
        "checklist_version": attempt.sheet.version,
    }


def _place(attempt: Told, step_id: str | None, side: Side | None) -> dict[str, Any]:
    return {"step_id": step_id, "step_title": attempt.titles().get(step_id or "", step_id), "side": side}


def _who(attempt: Told, person_id: str) -> dict[str, Any]:
    author = attempt.author(person_id)
    return {"rater": author.code, "role": author.role}


def _times(prefix: str, seconds: Interval | None) -> dict[str, Any]:
    ends = (
        ("onset", None if seconds is None else seconds.onset_s),
        ("offset", None if seconds is None else seconds.offset_s),
    )
    written: dict[str, Any] = {}
    for name, at in ends:
        whole = None if at is None else milliseconds(at)
        written |= {f"{prefix}{name}_s": None if whole is None else whole / 1000, f"{prefix}{name}_ms": whole}
    return written


def _items(sheet: Checklist) -> Iterator[Item]:
    for section in sheet.sections:
        for step in section.steps:
            for side in step.places:
                yield section, step, side, None
                for criterion in step.criteria:
                    yield section, step, side, criterion


def _raters(attempt: Told) -> list[Person]:
    """Return who marked, graded or entered something that can be seen, by role and code; always who asks."""
    said: Iterator[Mark | Grade | Entry] = chain(attempt.marks, attempt.grades, attempt.entries)
    ids = {one.person_id for one in said} | {attempt.person.id}
    people = [attempt.people[one] for one in ids if one in attempt.people]
    return sorted(people, key=lambda person: (person.role != "learner", person.role, person.code))


def _grades(attempt: Told) -> Iterator[Row]:
    given = {(one.person_id, one.step_id, one.side, one.criterion_id): one for one in attempt.grades}
    for rater in _raters(attempt):
        for item in _items(attempt.sheet):
            _, step, side, criterion = item
            key = (rater.id, step.id, side, None if criterion is None else criterion.id)
            yield _graded(attempt, rater, item, given.get(key))


def _graded(attempt: Told, rater: Person, item: Item, grade: Grade | None) -> Row:
    section, step, side, criterion = item
    level = None if grade is None else attempt.level(grade.level)
    possible = step.points if criterion is None else criterion.points
    share = None if level is None else level.share
    mark = attempt.last_mark(rater.id, step.id, side)
    return {
        **_shared(attempt),
        "section_id": section.id,
        **_place(attempt, step.id, side),
        "criterion_id": None if criterion is None else criterion.id,
        "critical": step.critical,
        "points_possible": possible,
        "weight": step.weight,
        **_who(attempt, rater.id),
        "covered": attempt.cover.hides(step.id, side, rater.id),
        "level": None if grade is None else grade.level,
        "level_word": None if level is None else level.word,
        "points": None if share is None or possible is None else share * possible,
        "confidence": None if grade is None else grade.confidence,
        "given": None if grade is None else GIVEN[grade.after_reveal],
        "graded_at": None if grade is None else grade.at,
        **_times("mark_", None if mark is None else mark.interval),
    }


def _mark(attempt: Told, mark: Mark) -> Row:
    return {
        **_shared(attempt),
        "mark_id": mark.id,
        **_place(attempt, mark.step_id, mark.side),
        **_who(attempt, mark.person_id),
        **_times("", mark.interval),
        "marked_at": mark.at,
    }


_SHAPE: Final = ("kind", "x", "y", "x2", "y2")


def _comment(attempt: Told, comment: Comment) -> Row:
    drawn = {f"shape_{name}": getattr(comment.shape, name, None) for name in _SHAPE}
    return {
        **_shared(attempt),
        "comment_id": comment.id,
        **_place(attempt, comment.step_id, comment.side),
        **_who(attempt, comment.person_id),
        **_times("", comment.interval),
        "text": comment.text,
        "reply_to": comment.reply_to,
        "settled": comment.resolved_by is not None,
        **drawn,
        "written_at": comment.at,
    }


def _entry(attempt: Told, entry: Entry) -> Row:
    return {
        **_shared(attempt),
        "entry_id": entry.id,
        **_place(attempt, entry.step_id, entry.side),
        **_who(attempt, entry.person_id),
        "kind": entry.kind,
        "text": entry.text,
        "words": words_of(entry.kind, entry.fields, entry.side),
        "entered_at": entry.at,
    }


def _sign_off(attempt: Told, one: ToldVersion) -> Row:
    added = one.added_up or {}
    last = one is attempt.sign_off.last
    return {
        **_shared(attempt),
        "version": one.signed.version,
        "rater": one.person.code,
        "covered": one.covered,
        "result": None if one.finding is None else one.finding.value,
        "taken_back": one.signed.finding is None,
        "conditions": one.conditions,
        "outcome": added.get("outcome"),
        "points": None if one.added_up is None else float(added["won"]),
        "points_possible": None if one.added_up is None else float(added["possible"]),
        "changed_since": attempt.sign_off.changed if last else None,
        "digest": one.signed.digest,
        "signed_at": one.signed.at,
    }


def _values(home: Home, attempt: Told) -> Iterator[Row]:
    seconds = Seconds(home, attempt.recording.id, attempt.marks, attempt.people, attempt.person)
    for step in attempt.sheet.steps():
        for side in step.places:
            mark = seconds.mark(step, side)
            if mark is None or attempt.cover.over(step.id, side):
                continue
            for value in seconds.values(step, side, mark.interval):
                yield _value(attempt, step, value, mark)


def _value(attempt: Told, step: Step, value: Value, mark: Mark) -> Row:
    of, estimate = measure(value.measure), value.estimate
    target = step.target(value.measure)
    return {
        **_shared(attempt),
        **_place(attempt, step.id, value.step_side),
        "measure": of.name,
        "measure_title": of.title,
        "value_side": estimate.side,
        "value": estimate.value,
        "low": estimate.low,
        "high": estimate.high,
        "unit": value.unit,
        "usable": estimate.usable,
        "reasons": "; ".join(reason.words for reason in estimate.reasons),
        "evidence": " ".join(f"{one.onset_s:.3f}-{one.offset_s:.3f}" for one in estimate.evidence),
        "target_low": target and target.low,
        "target_high": target and target.high,
        "verdict": target and target.judge(estimate),
        "seconds_from": attempt.people[mark.person_id].code,
        **_times("mark_", mark.interval),
    }
