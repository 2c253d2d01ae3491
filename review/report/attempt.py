"""One attempt as the Review page shows it: sheet, marks, grades, comments, values in words, curves."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

import xarray as xr

from review.access import Deed, demand
from review.domain.checklist import Checklist, Step, Target
from review.domain.model import Comment, Grade, Interval, Mark, Person, Recording, Role, Side, Value
from review.measures import measure, registry
from review.pipeline.values import interval_values
from review.report.recordings import analysis
from review.report.tracks import columns_of, trace_of, tracks_of
from review.report.words import target_words, unit_words, value_words
from review.store.home import Home
from review.store.repository import Repository, reading

NOTICE: Final = (
    "Practice feedback, not a diagnosis or a clinical record. Your course's own sheet, local policy and licensed "
    "instructors decide."
)

_ROLE_ORDER: Final = {Role.LEARNER: 0, Role.PEER: 1, Role.INSTRUCTOR: 2}


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
    tracks = tracks_of(home, recording.id)
    size = {"width_px": recording.width_px, "height_px": recording.height_px, "frames": recording.frames}
    return {
        "recording": {
            "id": recording.id,
            "name": recording.name,
            "attempt": recording.attempt,
            "duration_s": recording.duration_s,
            "mirrored": recording.mirrored,
            "analysis": state,
            "notes": list(recording.notes),
            **size,
        },
        "me": _person(person),
        "src": f"/api/media/{recording.id}",
        "times": f"/api/times/{recording.id}",
        "notice": sheet.notice or NOTICE,
        "title": sheet.title,
        "scale": {
            "name": sheet.scale.name,
            "levels": [{"key": level.key, "word": level.word, "share": level.share} for level in sheet.scale.levels],
        },
        "sections": _sections(sheet, _Seconds(tracks, recording.id, marks, people, person)),
        "marks": [_mark(mark, people, person) for mark in marks],
        "grades": [_grade(grade, people, person) for grade in grades],
        "comments": [_comment(comment, people, person) for comment in comments],
        "curves": _curves(home, person, recording, sheet) if tracks is not None else [],
        "ack": ack,
        "faults": [dict(fault) for fault in faults],
    }


def _sheet(repo: Repository, checklist_id: str | None, version: int | None) -> Checklist:
    return repo.checklist(checklist_id or "neuro_screening", version)


class _Seconds:
    """Finds the seconds of a step for the acting person, and what the measures say of them."""

    def __init__(
        self,
        tracks: xr.Dataset | None,
        recording_id: str,
        marks: Iterable[Mark],
        people: Mapping[str, Person],
        person: Person,
    ) -> None:
        self._tracks = tracks
        self._recording_id = recording_id
        self._marks = sorted(marks, key=lambda mark: self._nearness(mark, people, person))
        self._people = people

    @staticmethod
    def _nearness(mark: Mark, people: Mapping[str, Person], person: Person) -> tuple[bool, int, str]:
        return mark.person_id != person.id, _ROLE_ORDER[people[mark.person_id].role], mark.id

    def mark(self, step: Step, side: Side | None) -> Mark | None:
        """Return one's own mark of the step, else the learner's, else anybody's; only marks with a length."""
        fitting = (m for m in self._marks if (m.step_id, m.side) == (step.id, side) and m.interval.duration_s > 0)
        return next(fitting, None)

    def values(self, step: Step, side: Side | None, seconds: Interval) -> tuple[Value, ...]:
        """Return what the step's measures say of these seconds."""
        if self._tracks is None:
            return ()
        return interval_values(self._tracks, step, side, seconds, self._recording_id)

    def whose(self, mark: Mark) -> str:
        """Return the code of the person who set a mark."""
        return self._people[mark.person_id].code


def _sections(sheet: Checklist, seconds: _Seconds) -> list[dict[str, Any]]:
    return [
        {
            "id": section.id,
            "title": section.title,
            "rows": [_row(step, side, seconds) for step in section.steps for side in step.places],
        }
        for section in sheet.sections
    ]


def _row(step: Step, side: Side | None, seconds: _Seconds) -> dict[str, Any]:
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
        "targets": [_target(target) for target in step.targets],
        "stills": _still_times(mark.interval) if mark else [],
        "values_from": seconds.whose(mark) if mark else None,
        "values": [_value(value, step) for value in values],
        "measures": list(step.measures),
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
        "words": value_words(of, estimate, target),
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
            look = {"unit": str(trace.attrs.get("units", "")), "columns": columns_of(of, trace)}
            curves.append({"measure": name, "title": of.title, "url": f"/api/trace/{recording.id}/{name}", **look})
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
