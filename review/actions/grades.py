"""Grading a step, or one criterion of it, on the checklist's own scale."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import Final
from uuid import UUID, uuid5

from review.access import Deed, demand
from review.actions.checks import check_place
from review.actions.uncovering import is_uncovered, uncover
from review.domain.checklist import Step
from review.domain.errors import EntryRefused, NotFound
from review.domain.model import Grade, Person, Recording, Side
from review.store.repository import Repository

_NAMESPACE: Final = UUID("6b0f4c1e-53a8-4f0e-9c1d-2f7f5a7c9e11")


CONFIDENCE: Final = (1, 2, 3)
"""How sure a person is of a grade: unsure, fairly sure, sure."""


def give(
    repo: Repository,
    person: Person,
    recording: Recording,
    step_id: str,
    side: Side | None,
    level: str,
    criterion_id: str | None = None,
    confidence: int | None = None,
) -> Grade:
    """Give a grade; a second one for the same place by the same person replaces the first, which stays in history.

    A grade of a step as a whole, with its confidence, uncovers the step for the person; so do grades of all its
    criteria where these carry its points. Each grade keeps whether it was given before or after that.

    Parameters
    ----------
    repo
        Open transaction.
    person
        Who grades.
    recording
        What attempt.
    step_id, side
        A step of the recording's checklist and one of its sides, None for a step without sides.
    level
        Key of a level of the checklist's scale.
    criterion_id
        The criterion of the step that is graded; None for the step as a whole.
    confidence
        How sure the person is, one of `CONFIDENCE`, if asked.

    Returns
    -------
    Grade
        The grade as stored.

    Raises
    ------
    NotFound
        If the checklist has no such step, the step no such criterion, or the scale no such level.
    EntryRefused
        If the side does not belong to the step or the confidence is out of range.
    """
    demand(person, Deed.GRADE, recording)
    checklist, step = check_place(repo, recording, step_id, side)
    checklist.scale.level(level)
    if criterion_id is not None:
        _check_criterion(step, criterion_id)
    if confidence is not None and confidence not in CONFIDENCE:
        raise EntryRefused(
            f"A confidence of {confidence} came; expected 1 (unsure), 2 (fairly sure) or 3 (sure). Nothing was changed."
        )
    grade_id = id_of(person, recording, step_id, side, criterion_id)
    history = repo.grade_history(grade_id)
    seen = is_uncovered(repo, person, recording, step_id, side)
    grade = Grade(
        id=grade_id,
        recording_id=recording.id,
        step_id=step_id,
        side=side,
        criterion_id=criterion_id,
        level=level,
        confidence=confidence,
        person_id=person.id,
        at=datetime.now(UTC),
        revision=len(history) + 1,
        after_reveal=seen,
    )
    repo.put_grade(grade)
    if confidence is not None and not seen and (criterion_id is None or _sure_of_all(repo, grade, step)):
        uncover(repo, person, recording, step_id, side)
    return grade


def withdraw(
    repo: Repository,
    person: Person,
    recording: Recording,
    step_id: str,
    side: Side | None,
    criterion_id: str | None = None,
) -> Grade:
    """Take back one's own grade of a place; its history stays.

    Returns
    -------
    Grade
        The revision that says so.

    Raises
    ------
    NotFound
        If the person has no grade there.
    """
    demand(person, Deed.GRADE, recording)
    history = repo.grade_history(id_of(person, recording, step_id, side, criterion_id))
    if not history or history[-1].removed:
        where = " ".join(part for part in (step_id, side, criterion_id) if part)
        raise NotFound(f"{person.code} has given no grade for {where}. Nothing was changed.")
    gone = replace(history[-1], revision=history[-1].revision + 1, removed=True, at=datetime.now(UTC))
    repo.put_grade(gone)
    return gone


def _sure_of_all(repo: Repository, given: Grade, step: Step) -> bool:
    """Tell whether the criteria of a step carry its points, and the person has graded all of them with confidence."""
    sure = {
        one.criterion_id
        for one in repo.grades(given.recording_id)
        if (one.person_id, one.step_id, one.side) == (given.person_id, given.step_id, given.side) and one.confidence
    }
    return step.by_criteria and all(criterion.id in sure for criterion in step.criteria)


def _check_criterion(step: Step, criterion_id: str) -> None:
    known = [criterion.id for criterion in step.criteria]
    if criterion_id not in known:
        raise NotFound.among("criterion", criterion_id, known)


def id_of(
    person: Person, recording: Recording, step_id: str, side: Side | None, criterion_id: str | None = None
) -> str:
    """Return the id that the one grade of this person for this place has."""
    return str(uuid5(_NAMESPACE, "\n".join([person.id, recording.id, step_id, side or "", criterion_id or ""])))
