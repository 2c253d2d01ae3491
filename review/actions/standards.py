"""What cut scores rest on: overall ratings of attempts, and what is expected of a borderline learner."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime

from review.access import Deed, demand
from review.domain.errors import EntryRefused
from review.domain.model import Person, Recording, Role, Side
from review.domain.standard import OVERALL, Expectation, Overall
from review.store.repository import Repository


def rate(repo: Repository, person: Person, recording: Recording, rating: int | None) -> None:
    """Give an attempt an overall rating, or with None take one's own back.

    It is given of the whole impression, by somebody who graded the attempt: the line is drawn where those ratings and
    the points meet.

    Raises
    ------
    EntryRefused
        If it is no rating there is, the person is no instructor, or has graded no step of the attempt.
    """
    demand(person, Deed.GRADE, recording)
    if person.role is not Role.INSTRUCTOR or person.id == recording.added_by:
        raise EntryRefused("An overall rating is an instructor's, of somebody else's attempt. Nothing was changed.")
    if rating is None:
        repo.standards().drop_overall(recording.id, person.id)
        return
    if rating not in OVERALL:
        known = ", ".join(f"{number} ({words})" for number, words in OVERALL.items())
        raise EntryRefused(f"A rating of {rating} came; expected one of {known}. Nothing was changed.")
    if not any(one.person_id == person.id for one in repo.grades(recording.id)):
        raise EntryRefused(
            "You have graded no step of this attempt; grade it first, then say how it was as a whole. Nothing was "
            "changed."
        )
    repo.standards().put_overall(Overall(recording.id, person.id, rating, datetime.now(UTC)))


def expect(
    repo: Repository,
    person: Person,
    course_id: str | None,
    checklist_id: str,
    chances: Mapping[tuple[str, Side | None], float],
) -> int:
    """Say with which chance a borderline learner does steps of a sheet fully; return how many were stored.

    Parameters
    ----------
    repo, person
        Open transaction, and which instructor.
    course_id
        The course; None on a machine without accounts.
    checklist_id
        The sheet, in its newest version.
    chances
        Chance (0 to 1) by step and side.

    Raises
    ------
    EntryRefused
        If a chance lies outside of 0 to 1, or the sheet has no such step; all of them are named, nothing is stored.
        Where people sign in, also if no course is named.
    """
    if course_id is None and person.courses is not None:
        raise EntryRefused("No course was named for which these chances hold. Choose one; nothing was changed.")
    demand(person, Deed.SEE_CLASS, course=course_id)
    titles = repo.checklist(checklist_id).titles()
    faults = [
        f"{step} {side or ''}".strip() + ": no step of the sheet"
        for step, side in chances
        if (step, side) not in titles
    ]
    faults += [
        f"{titles[place]}: {100 * chance:g} %, expected 0 to 100"
        for place, chance in chances.items()
        if place in titles and not 0 <= chance <= 1
    ]
    if faults:
        raise EntryRefused(f"Some of these cannot be stored: {'; '.join(faults)}. Nothing was changed.")
    at = datetime.now(UTC)
    for (step, side), chance in chances.items():
        one = Expectation(course_id or "", checklist_id, step, side, person.id, float(chance), at)
        repo.standards().put_expectation(one)
    return len(chances)
