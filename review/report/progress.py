"""The Progress page: a learner's attempts at a sheet over time, step by step, and what to practise next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any, Final

from review.domain.checklist import NOT_ASSESSABLE, Step
from review.domain.model import Mark, Person, Side
from review.report.calibration import instructors, peers
from review.report.choosing import attempt_json, choose, people_of, subject_json, subjects_json
from review.report.graded import Given, Graded, Place, graded, share_of, subjects, word_of
from review.report.practice import RULE, Practice, Run, due_words, practice
from review.report.said import person_json
from review.store.home import Home
from review.store.repository import reading

FIRST: Final = (
    "No attempt is here yet. Add a film on the page Recordings and grade its steps on the page Review; what to "
    "practise next then stands here, with the reason."
)
UNGRADED: Final = (
    "No step of these attempts is graded yet, as far as you may see. Open one on the page Review and grade its steps; "
    "what to practise next then stands here, with the reason."
)


@dataclass(frozen=True, slots=True)
class Attempt:
    """An attempt with the grade that counts of each step, and where its steps begin."""

    graded: Graded
    grades: Mapping[Place, Given]
    starts: Mapping[Place, float]


def progress(
    home: Home, person: Person, learner: str | None = None, checklist: str | None = None, today: date | None = None
) -> dict[str, Any]:
    """Return what the Progress page shows to one person, as plain JSON values.

    Of each step the instructor's grade counts, else a peer's, else the learner's own; of several the last given. What
    is covered for the person does not count. The steps are those of the newest attempt's sheet.

    Parameters
    ----------
    home, person
        Where and for whom.
    learner, checklist
        Code of a learner and id of a sheet; None for the likely one.
    today
        The day from which on time is told; None for today.

    Returns
    -------
    dict
        ``subjects``, ``subject``, ``attempts`` (each with ``points`` of 100 and ``steps`` graded), ``rows`` (each step
        with a cell an attempt), ``next``, ``later`` (steps to practise), ``untried`` (titles), ``rule``, ``empty``.

    Raises
    ------
    NotFound
        If there is no such learner or sheet.
    """
    day = today or datetime.now(UTC).date()
    with reading(home) as repo:
        found = subjects(repo, person)
        told: dict[str, Any] = {"me": person_json(person), "subjects": subjects_json(repo, found)}
        if not found and learner is None and checklist is None:
            return {**told, "subject": None, "empty": FIRST}
        subject = choose(found, learner, checklist)
        people = people_of(repo)
        marks = repo.marks_of(one.id for one in subject.recordings)
        given = graded(repo, person, subject.recordings)
        attempts = [_attempt(one, marks[one.recording.id], people, person) for one in given]
        told["subject"] = subject_json(repo, subject)
    listed = [(step, side) for step in attempts[-1].graded.sheet.steps() for side in step.places]
    planned = [_planned(step, side, attempts, people, day) for step, side in listed]
    due = sorted((one for one in planned if one is not None), key=lambda one: one.rank)
    return {
        **told,
        "attempts": [_summary(one, people) for one in attempts],
        "rows": _rows(attempts, people),
        "next": [_next_json(one, attempts, day) for one in due if one.due <= day],
        "later": [_next_json(one, attempts, day) for one in sorted(due, key=lambda one: one.due) if one.due > day],
        "untried": [step.titled(side) for (step, side), plan in zip(listed, planned, strict=True) if plan is None],
        "rule": RULE,
        "covered": sum(sum(one.graded.covered.values()) for one in attempts),
        "empty": "" if any(one.grades for one in attempts) else UNGRADED,
    }


def _attempt(one: Graded, marks: Sequence[Mark], people: Mapping[str, Person], me: Person) -> Attempt:
    owner = one.recording.added_by
    counted = {**one.by(owner), **peers(one, people), **instructors(one, people)}
    known = set(one.places)
    return Attempt(one, {place: grade for place, grade in counted.items() if place in known}, _starts(marks, owner, me))


def _starts(marks: Sequence[Mark], owner: str, me: Person) -> dict[Place, float]:
    """Return where steps begin: by one's own mark, else by the learner's, else by anybody's; the first of them."""
    order = {me.id: 0, owner: 1}
    ranked = sorted(marks, key=lambda one: (order.get(one.person_id, 2), one.interval), reverse=True)
    return {(one.step_id, one.side): one.interval.onset_s for one in ranked}


def _planned(
    step: Step, side: Side | None, attempts: Sequence[Attempt], people: Mapping[str, Person], today: date
) -> Practice | None:
    runs = []
    for attempt in attempts:
        grade = attempt.grades.get((step.id, side))
        if grade is not None:
            scale, taken = attempt.graded.sheet.scale, attempt.graded.recording
            share, word = share_of(scale, grade.level), word_of(scale, grade.level)
            runs.append(Run(taken.attempt, taken.added_at.date(), share, word, people[grade.person_id].code))
    return practice(step, side, runs, today)


def _next_json(one: Practice, attempts: Sequence[Attempt], today: date) -> dict[str, Any]:
    place = (one.step.id, one.side)
    last = next(attempt for attempt in reversed(attempts) if place in attempt.grades)
    return {
        "step": one.step.id,
        "side": one.side,
        "title": one.step.titled(one.side),
        "critical": one.step.critical,
        "due": due_words(one.due, today),
        "due_on": one.due.isoformat(),
        "lost": one.lost,
        "why": list(one.why),
        "caution": one.step.caution,
        "recording": last.graded.recording.id,
        "attempt": last.graded.recording.attempt,
        "at": last.starts.get(place),
    }


def _summary(attempt: Attempt, people: Mapping[str, Person]) -> dict[str, Any]:
    """Return an attempt with its total in points of 100, over the steps that are graded and have points."""
    sheet, got, whole = attempt.graded.sheet, 0.0, 0.0
    for step in sheet.steps():
        for side in step.places:
            grade = attempt.grades.get((step.id, side))
            share = None if grade is None else share_of(sheet.scale, grade.level)
            if share is not None:
                got, whole = got + step.points * step.weight * share, whole + step.points * step.weight
    return {
        **attempt_json(attempt.graded.recording),
        "points": 100 * got / whole if whole else None,
        "steps": len(attempt.grades),
        "of": len(attempt.graded.places),
        "by": sorted({people[grade.person_id].code for grade in attempt.grades.values()}),
    }


def _rows(attempts: Sequence[Attempt], people: Mapping[str, Person]) -> list[dict[str, Any]]:
    """Return the steps that were graded in any attempt, each with a cell an attempt."""
    return [
        {
            "section": section.title,
            "step": step.id,
            "side": side,
            "title": step.titled(side),
            "critical": step.critical,
            "points": step.points,
            "cells": [_cell(attempt, (step.id, side), people) for attempt in attempts],
        }
        for section in attempts[-1].graded.sheet.sections
        for step in section.steps
        for side in step.places
        if any((step.id, side) in attempt.grades for attempt in attempts)
    ]


def _cell(attempt: Attempt, place: Place, people: Mapping[str, Person]) -> dict[str, Any] | None:
    grade = attempt.grades.get(place)
    if grade is None:
        return None
    scale, who = attempt.graded.sheet.scale, people[grade.person_id]
    return {
        "word": word_of(scale, grade.level),
        "share": share_of(scale, grade.level),
        "judged": grade.level != NOT_ASSESSABLE,
        "person": who.code,
        "role": str(who.role),
        "own": who.id == attempt.graded.recording.added_by,
        "recording": attempt.graded.recording.id,
        "at": attempt.starts.get(place),
    }
