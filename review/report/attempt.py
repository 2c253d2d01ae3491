"""One attempt as the Review page shows it: sheet, marks, grades, comments, entries, values in words, curves."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from review.access import Deed, demand
from review.domain.checklist import Checklist, GradeScale, Step, Target
from review.domain.model import Comment, Grade, Interval, Mark, Person, Recording, Side, Value
from review.measures import measure, registry
from review.pipeline.values import step_measures
from review.report import entries
from review.report.people import most_people
from review.report.recordings import analysis
from review.report.seconds import Seconds
from review.report.tracks import columns_of, trace_of
from review.report.words import missed_words, target_words, unit_words, value_words
from review.store.home import Home
from review.store.repository import Repository, reading

NOTICE: Final = (
    "Practice feedback, not a diagnosis or a clinical record. Your course's own sheet, local policy and licensed "
    "instructors decide."
)


def board(
    home: Home,
    recording_id: str,
    person: Person,
    ack: int = 0,
    faults: Sequence[Mapping[str, Any]] = (),
) -> dict[str, Any]:
    """Return all that the Review page shows of one recording to one person, as plain JSON values.

    Parameters
    ----------
    home, recording_id, person
        Where, which and for whom.
    ack, faults
        Last browser operation stored, and what was wrong with those that could not be.
    """
    with reading(home) as repo:
        recording = repo.recording(recording_id)
        demand(person, Deed.SEE, recording)
        people = {one.id: one for one in repo.people()}
        sheet = _sheet(repo, recording.checklist_id, recording.checklist_version)
        marks, grades = repo.marks(recording.id), repo.grades(recording.id)
        comments, state = repo.comments(recording.id), analysis(repo, recording)
        entered = repo.entries(recording.id)
        pointed = bool(repo.pointings(recording.id))
    seconds = Seconds(home, recording.id, marks, people, person)
    size = {name: getattr(recording, name) for name in ("width_px", "height_px", "frames", "duration_s", "mirrored")}
    return {
        "recording": {
            "id": recording.id,
            "name": recording.name,
            "attempt": recording.attempt,
            "analysis": state,
            "notes": list(recording.notes),
            "people": most_people(home, recording.id),
            "pointed": pointed,
            "film": seconds.film_faults(Interval(0.0, recording.duration_s), ()) + seconds.sound_faults(),
            **size,
        },
        "me": _person(person),
        "src": f"/api/media/{recording.id}",
        "times": f"/api/times/{recording.id}",
        "notice": sheet.notice or NOTICE,
        "title": sheet.title,
        "scale": _scale(sheet.scale),
        "sections": _sections(sheet, seconds),
        "marks": [_mark(mark, people, person) for mark in marks],
        "grades": [_grade(grade, people, person) for grade in grades],
        "comments": [_comment(comment, people, person) for comment in comments],
        "entries": [{**entries.shown(one, people), "mine": one.person_id == person.id} for one in entered],
        "curves": _curves(home, person, recording, sheet),
        "ack": ack,
        "faults": [dict(fault) for fault in faults],
    }


def _sheet(repo: Repository, checklist_id: str | None, version: int | None) -> Checklist:
    return repo.checklist(checklist_id or "neuro_screening", version)


def _scale(scale: GradeScale) -> dict[str, Any]:
    levels = [{"key": level.key, "word": level.word, "share": level.share} for level in scale.levels]
    return {"name": scale.name, "levels": levels}


def _sections(sheet: Checklist, seconds: Seconds) -> list[dict[str, Any]]:
    return [
        {
            "id": section.id,
            "title": section.title,
            "rows": [_row(step, side, seconds) for step in section.steps for side in step.places],
        }
        for section in sheet.sections
    ]


def _row(step: Step, side: Side | None, seconds: Seconds) -> dict[str, Any]:
    mark = seconds.mark(step, side)
    values = seconds.values(step, side, mark.interval) if mark else ()
    return {
        "key": f"{step.id}|{side or ''}",
        "step": step.id,
        "side": side,
        "title": step.title,
        "action": step.action,
        "expected": step.expected,
        "finding": list(step.finding),
        "equipment": list(step.equipment),
        "caution": step.caution,
        "points": step.points,
        "critical": step.critical,
        "criteria": [{"id": criterion.id, "text": criterion.text} for criterion in step.criteria],
        "view": list(step.view),
        "entry": entries.field_of(step),
        "targets": [_target(target) for target in step.targets],
        "stills": _still_times(mark.interval) if mark else [],
        "values_from": seconds.whose(mark) if mark else None,
        "values": [_value(value, step) for value in values],
        "film": seconds.film_faults(mark.interval, step.view) if mark else [],
        "measures": [of.name for of in {of.trace: of for of in reversed(step_measures(step))}.values()][::-1],
    }


def _still_times(seconds: Interval) -> list[float]:
    """Three moments of a stretch: its sixth, its middle, its last sixth."""
    return [round(seconds.onset_s + share * seconds.duration_s, 3) for share in (1 / 6, 1 / 2, 5 / 6)]


def _target(target: Target) -> dict[str, Any]:
    of = measure(target.measure)
    bounds = {"low": target.low, "high": target.high, "unit": target.unit}
    words = target_words(of, target)
    return {"measure": target.measure, "title": of.title, "words": words, "source": target.source, **bounds}


def _value(value: Value, step: Step) -> dict[str, Any]:
    of, estimate = measure(value.measure), value.estimate
    target = next((target for target in step.targets if target.measure == value.measure), None)
    return {
        "measure": value.measure,
        "title": of.title,
        "side": estimate.side,
        "value": estimate.value,
        "low": estimate.low,
        "high": estimate.high,
        "unit": unit_words(of),
        "usable": estimate.usable,
        "reasons": [reason.words for reason in estimate.reasons],
        "verdict": target.judge(estimate) if target else None,
        "words": "; ".join(filter(None, (value_words(of, estimate, target), missed_words(of, value)))),
        "events": sorted({event.kind for event in value.events}),
        "evidence": [[seconds.onset_s, seconds.offset_s] for seconds in estimate.evidence],
    }


def _curves(home: Home, person: Person, recording: Recording, sheet: Checklist) -> list[dict[str, Any]]:
    names = dict.fromkeys(name for step in sheet.steps() for name in step.measures)
    curves = []
    for name in (name for name in names if name in registry()):
        trace = trace_of(home, person, recording, name)
        if trace is not None:
            of = measure(name)
            look = {"unit": str(trace.attrs.get("units", "")), "columns": columns_of(of, trace), "band": of.level}
            curves.append(
                {
                    "measure": name,
                    "title": of.title,
                    "words": of.curve or of.title,
                    "url": f"/api/trace/{recording.id}/{name}",
                    **look,
                }
            )
    return curves


def _person(person: Person) -> dict[str, Any]:
    return {"id": person.id, "code": person.code, "role": str(person.role)}


def _by(person_id: str, people: Mapping[str, Person], me: Person) -> dict[str, Any]:
    author = people[person_id]
    return {"person": author.code, "role": str(author.role), "mine": author.id == me.id}


def _mark(mark: Mark, people: Mapping[str, Person], me: Person) -> dict[str, Any]:
    place = {"id": mark.id, "step": mark.step_id, "side": mark.side}
    return {**place, **_times(mark.interval), **_by(mark.person_id, people, me)}


def _grade(grade: Grade, people: Mapping[str, Person], me: Person) -> dict[str, Any]:
    place = {"id": grade.id, "step": grade.step_id, "side": grade.side, "criterion": grade.criterion_id}
    return {**place, "level": grade.level, "confidence": grade.confidence, **_by(grade.person_id, people, me)}


def _comment(comment: Comment, people: Mapping[str, Person], me: Person) -> dict[str, Any]:
    place = {"id": comment.id, "step": comment.step_id, "side": comment.side, "reply_to": comment.reply_to}
    what = {"text": comment.text, "at": comment.at.isoformat(timespec="seconds")}
    return {**place, **_times(comment.interval), **what, **_by(comment.person_id, people, me)}


def _times(seconds: Interval) -> dict[str, float]:
    return {"onset_s": seconds.onset_s, "offset_s": seconds.offset_s}
