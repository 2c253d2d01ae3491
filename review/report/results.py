"""What the grades of each rater of an attempt add up to."""

from __future__ import annotations

from dataclasses import dataclass

from review.access import Deed, demand
from review.domain.checklist import Checklist
from review.domain.errors import NotFound
from review.domain.model import Grade, Interval, Person, Recording, Side
from review.domain.result import Result, result_of
from review.report.cover import Cover
from review.store.repository import Repository


@dataclass(frozen=True, slots=True)
class AddedUp:
    """One rater's grades of an attempt, as far as the asking person may see them, and what they add up to.

    `covered` is how many grades are left out because the asking person has not graded those steps yet; then `result` is
    None, since what it adds up to would tell of them.
    """

    sheet: Checklist
    recording: Recording
    rater: Person
    grades: tuple[Grade, ...]
    covered: int
    result: Result | None


def added_up(repo: Repository, person: Person, recording: Recording, rater: Person) -> AddedUp:
    """Return what one rater's grades of an attempt add up to, for one person to see.

    Time limits are held against the rater's own marks.

    Raises
    ------
    NotAllowed
        If the person may not see the recording.
    """
    demand(person, Deed.SEE, recording)
    sheet = repo.sheet_of(recording)
    cover = Cover(repo.uncoverings().of(recording.id, person.id), person)
    given = [grade for grade in repo.grades(recording.id) if grade.person_id == rater.id]
    shown = tuple(grade for grade in given if not cover.hides(grade.step_id, grade.side, grade.person_id))
    covered = len(given) - len(shown)
    result = None if covered else result_of(sheet, shown, _marks(repo, recording, rater))
    return AddedUp(sheet, recording, rater, shown, covered, result)


def raters(repo: Repository, person: Person, recording: Recording) -> tuple[Person, ...]:
    """Return those who graded an attempt, by code."""
    demand(person, Deed.SEE, recording)
    said = {grade.person_id for grade in repo.grades(recording.id)}
    return tuple(one for one in repo.people() if one.id in said)


def rater_of(repo: Repository, person: Person, recording: Recording, code: str | None) -> Person:
    """Return the rater with a code, or without one the asking person.

    Raises
    ------
    NotFound
        If nobody with this code graded the attempt; the message names those who did.
    """
    if not code or code == person.code:
        return person
    known = raters(repo, person, recording)
    for one in known:
        if one.code == code:
            return one
    raise NotFound.among("rater of this attempt", code, [one.code for one in known])


def _marks(repo: Repository, recording: Recording, rater: Person) -> dict[tuple[str, Side | None], Interval]:
    """Return the last mark that a rater set for each step and side."""
    return {(mark.step_id, mark.side): mark.interval for mark in repo.marks(recording.id) if mark.person_id == rater.id}
