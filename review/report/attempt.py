"""One attempt as the Review page shows it: sheet, marks, grades, comments, entries, values in words, curves."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from review.access import Deed, allowed
from review.domain.checklist import Checklist, GradeScale, Step, Target
from review.domain.model import Grade, Mark, Person, Recording, Side, Value
from review.measures import measure, registry
from review.pipeline.spoken import Hits
from review.pipeline.values import step_measures
from review.report import beside, entries
from review.report.chosen_stills import still_times
from review.report.cover import Cover
from review.report.order import order_words
from review.report.outcome import outcomes
from review.report.people import most_people
from review.report.proposed import first_pass
from review.report.recordings import analysis
from review.report.said import comment_json, grade_json, mark_json, person_json
from review.report.seconds import Seconds
from review.report.sharing import agreed_and_shared
from review.report.sign_off import sign_off_json
from review.report.sparkline import sparkline
from review.report.tracks import version as state_of_tracks
from review.report.words import missed_words, target_words, unit_words, value_words
from review.store.database import Database
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
    database: Database | None = None,
) -> dict[str, Any]:
    """Return all that the Review page shows of one recording to one person, as plain JSON values.

    What is still covered for the person (see `review.report.cover`) is left out: values, grades, entries and the words
    of comments of others. What people said is told with a ``version`` that changes whenever they say more.

    Parameters
    ----------
    home, recording_id, person
        Where, which and for whom.
    ack
        Last operation of the browser that is in it.
    database
        The home's, where it is open already.
    """
    with reading(database or home) as repo:
        recording = allowed(repo, person, Deed.SEE, recording_id)
        people = {one.id: one for one in repo.people()}
        sheet = repo.sheet_of(recording)
        uncovered = repo.uncoverings().of(recording.id, person.id)
        cover, job = Cover(uncovered, person), analysis(repo, recording)
        histories = repo.grade_histories(recording.id)
        marks, hidden = repo.marks(recording.id), _hidden(repo, recording, cover)
        said = _said(repo, recording, people, cover, histories)
        kept = {
            "phrases": [{"id": phrase.id, "text": phrase.text} for phrase in repo.phrases().of(person.id)],
            "exemplars": beside.exemplars(repo, sheet, people, person),
            "own_attempts": beside.own_attempts(repo, recording, person),
            "outcome": outcomes(repo, person, recording),
            "sign_off": sign_off_json(repo, person, recording),
            **first_pass(home, repo, recording, person, (marks, uncovered, job["state"])),
        }
        pointed = bool(repo.pointings(recording.id))
        facts = {"analysis": job, "pointed": pointed, **agreed_and_shared(person, recording)}
    seconds = Seconds(home, recording.id, marks, people, person)
    return {
        "recording": {**_facts(home, recording, seconds), **facts},
        "me": person_json(person),
        **beside.addresses(recording),
        "notice": sheet.notice or NOTICE,
        "title": sheet.title,
        "scale": _scale(sheet.scale),
        "sections": _sections(sheet, Look(seconds, cover, hidden, seconds.heard(sheet))),
        "marks": [mark_json(mark, people, person) for mark in marks],
        **said,
        **kept,
        "curves": _curves(home, recording, sheet),
        "ack": ack,
    }


def version(home: Home | Database, recording_id: str, person: Person) -> str:
    """Return a short text that changes whenever anybody says something of a recording: `board`'s ``version``.

    Every open page asks for it again and again; who answers them keeps the database open.
    """
    with reading(home) as repo:
        recording = allowed(repo, person, Deed.SEE, recording_id)
        return repo.version(recording.id)


def version_now(home: Home | Database, recording_id: str) -> str:
    """Return what `version` does, to somebody who was allowed to hear it a moment ago."""
    with reading(home) as repo:
        return repo.version(recording_id)


def _facts(home: Home, recording: Recording, seconds: Seconds) -> dict[str, Any]:
    size = {name: getattr(recording, name) for name in ("width_px", "height_px", "frames", "duration_s", "mirrored")}
    return {
        "id": recording.id,
        "name": recording.name,
        "attempt": recording.attempt,
        "notes": list(recording.notes),
        "people": most_people(home, recording.id),
        **size,
    }


def _said(
    repo: Repository,
    recording: Recording,
    people: Mapping[str, Person],
    cover: Cover,
    histories: Mapping[str, tuple[Grade, ...]],
) -> dict[str, Any]:
    """Return what people said, as far as it is not covered, and the version that changes as they say more."""
    me = cover.person
    return {
        "version": repo.version(recording.id),
        "grades": [
            grade_json(one, histories[one.id], people, me)
            for one in repo.grades(recording.id)
            if not cover.hides(one.step_id, one.side, one.person_id)
        ],
        "comments": [
            comment_json(one, people, me, cover.hides(one.step_id, one.side, one.person_id))
            for one in repo.comments(recording.id)
        ],
        "entries": [
            {**entries.shown(one, people), "mine": one.person_id == me.id}
            for one in repo.entries(recording.id)
            if not cover.hides(one.step_id, one.side, one.person_id)
        ],
    }


def _scale(scale: GradeScale) -> dict[str, Any]:
    levels = [{"key": level.key, "word": level.word, "share": level.share} for level in scale.levels]
    return {"name": scale.name, "levels": levels}


Hidden = Mapping[tuple[str, Side | None], Mapping[str, int]]
"""How many grades and entries of others are covered, by step and side."""


def _hidden(repo: Repository, recording: Recording, cover: Cover) -> Hidden:
    found: dict[tuple[str, Side | None], dict[str, int]] = {}
    for kind, said in (("grades", repo.grades(recording.id)), ("entries", repo.entries(recording.id))):
        for one in said:
            if cover.hides(one.step_id, one.side, one.person_id):
                counts = found.setdefault((one.step_id, one.side), {"grades": 0, "entries": 0})
                counts[kind] += 1
    return found


@dataclass(frozen=True, slots=True)
class Look:
    """What is known of the steps of a recording, and what of it is covered for the person who looks."""

    seconds: Seconds
    cover: Cover
    hidden: Hidden
    heard: Hits


def _sections(sheet: Checklist, look: Look) -> list[dict[str, Any]]:
    places = [(step.id, side) for step in sheet.steps() for side in step.places]
    words = order_words(sheet, {place: look.seconds.marks(*place) for place in places})
    return [
        {
            "id": section.id,
            "title": section.title,
            "rows": [
                {**_row(step, side, look), "notes": words.get((step.id, side), [])}
                for step in section.steps
                for side in step.places
            ],
        }
        for section in sheet.sections
    ]


def _row(step: Step, side: Side | None, look: Look) -> dict[str, Any]:
    seconds, mark = look.seconds, look.seconds.mark(step, side)
    covered = look.cover.over(step.id, side)
    values = () if covered or mark is None else seconds.values(step, side, mark.interval)
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
        "criteria": [{"id": one.id, "text": one.text, "points": one.points} for one in step.criteria],
        "view": list(step.view),
        "entry": entries.field_of(step),
        "targets": [_target(target) for target in step.targets],
        "stills": still_times(mark.interval, values) if mark else [],
        "values_from": seconds.whose(mark) if mark else None,
        "covered": covered,
        "spoken": None if covered or mark is None else seconds.spoken(look.heard, step, side, mark),
        "ear_sets": None if covered or mark is None else seconds.ear_sets(step),
        "covers": {
            "values": covered and mark is not None and _known(look, step),
            **look.hidden.get((step.id, side), {"grades": 0, "entries": 0}),
        },
        "values": [_value(value, step) for value in values],
        "spark": None if covered or mark is None else _spark(look, step, side, mark),
        "measures": [of.name for of in {of.trace: of for of in reversed(step_measures(step))}.values()][::-1],
    }


def _known(look: Look, step: Step) -> bool:
    """Tell whether there is something to say of the step as soon as it is marked."""
    return look.seconds.measured(step) or step.id in look.heard


def _spark(look: Look, step: Step, side: Side | None, mark: Mark) -> Any:
    """Return the course of the step's first measure over its seconds; None where nothing was looked at."""
    for of in step_measures(step)[:1]:
        trace = look.seconds.trace(of, mark.interval)
        return None if trace is None else sparkline(of, trace, mark.interval, side, step.target(of.name))
    return None


def _target(target: Target) -> dict[str, Any]:
    of = measure(target.measure)
    bounds = {"low": target.low, "high": target.high, "unit": target.unit}
    words = target_words(of, target)
    return {"measure": target.measure, "title": of.title, "words": words, "source": target.source, **bounds}


def _value(value: Value, step: Step) -> dict[str, Any]:
    of, estimate = measure(value.measure), value.estimate
    target = step.target(value.measure)
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


def _curves(home: Home, recording: Recording, sheet: Checklist) -> list[dict[str, Any]]:
    """Tell which curves there are; none is computed before the page asks for it by its address."""
    if not state_of_tracks(home, recording.id):
        return []
    names = dict.fromkeys(name for step in sheet.steps() for name in step.measures)
    return [
        {
            "measure": of.name,
            "title": of.title,
            "words": of.curve or of.title,
            "url": f"/api/trace/{recording.id}/{of.name}",
            "band": of.level,
        }
        for of in (measure(name) for name in names if name in registry())
    ]
