"""The attempts of a class as instructors graded them: what the Class page is worked out from, by few queries."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from review.access import Deed, may, teaches
from review.domain.checklist import DEFAULT_CHECKLIST, Checklist
from review.domain.course import Course, CourseRole
from review.domain.model import Person, Recording, Role
from review.domain.result import Result, result_of
from review.report.cover import Cover
from review.report.graded import Given, Graded, Place, graded_by, sheets_of, uncovered_by
from review.store.gradings import Revision
from review.store.repository import Repository

History = tuple[Revision, ...]


@dataclass(frozen=True)
class ClassAttempt:
    """An attempt of a learner with what instructors gave it.

    Parameters
    ----------
    learner
        Whose attempt.
    graded
        The grades of whole steps that the person who looks may see, and how many are covered.
    latest
        Of each step, side and criterion the grade that an instructor gave last; none where any is covered.
    graders
        Ids of the instructors who gave any grade, covered ones too.
    """

    learner: Person
    graded: Graded
    latest: tuple[Revision, ...]
    graders: frozenset[str]

    @property
    def recording(self) -> Recording:
        """The attempt's recording."""
        return self.graded.recording

    @property
    def covered(self) -> int:
        """How many grades are kept from the person who looks."""
        return sum(self.graded.covered.values())

    def counted(self) -> dict[Place, Given]:
        """Return the grade that an instructor gave last, by place, of those that may be seen."""
        return {one.place: one for one in sorted(self.graded.given, key=lambda one: one.at)}

    @cached_property
    def result(self) -> Result | None:
        """What the instructors' grades come to; None where there are none, or one is covered."""
        return result_of(self.graded.sheet, [one.grade for one in self.latest]) if self.latest else None


def attempts_of(
    repo: Repository, person: Person, people: Mapping[str, Person], course: Course | None
) -> list[Recording]:
    """Return the learners' attempts of a course that a person may see, newest first.

    Without a course they are all attempts of learners on this machine. In a course they are those that were handed in,
    as far as the examined persons agreed.
    """
    return [
        one
        for one in repo.recordings()
        if _learns(people[one.added_by], course)
        and (course is None or (one.sharing.course_id == course.id and one.sharing.handed_in_at is not None))
        and may(person, Deed.SEE, one)
    ]


def _learns(person: Person, course: Course | None) -> bool:
    return (
        person.role is Role.LEARNER if course is None else (person.courses or {}).get(course.id) is CourseRole.LEARNER
    )


def teachers_of(people: Mapping[str, Person], course: Course | None) -> list[Person]:
    """Return the instructors of a course, its owners too, by code; without a course all instructors."""
    course_id = None if course is None else course.id
    return [one for one in sorted(people.values(), key=lambda one: one.code) if teaches(one, course_id)]


def sheet_id(recording: Recording) -> str:
    """Return the id of the sheet that an attempt is graded by."""
    return recording.checklist_id or DEFAULT_CHECKLIST


def read_attempts(
    repo: Repository,
    person: Person,
    recordings: Sequence[Recording],
    people: Mapping[str, Person],
    course: Course | None = None,
) -> list[ClassAttempt]:
    """Return attempts with the grades that instructors gave them, in the order in which they came.

    In a course nothing is covered of an attempt that the person has no part in grading: who is neither asked to grade
    it nor has graded any of it.

    Parameters
    ----------
    repo, person
        Open transaction, and who looks.
    recordings
        Attempts of learners.
    people
        Everybody by id.
    course
        The course; None on a machine without accounts, where anybody may come to grade anything.
    """
    teachers = [one.id for one in teachers_of(people, course)]
    histories = repo.gradings().of((one.id for one in recordings), teachers, criteria=True)
    seen, sheets = uncovered_by(repo, person, recordings), sheets_of(repo, recordings)
    return [
        _read(
            recording,
            people[recording.added_by],
            sheets[recording.checklist_id, recording.checklist_version],
            [one for one in histories[recording.id] if one[-1].person_id != recording.added_by],
            Cover(seen.get(recording.id, ()), person, course is not None and not _part(person, recording, histories)),
        )
        for recording in recordings
    ]


def _part(person: Person, recording: Recording, histories: Mapping[str, Sequence[History]]) -> bool:
    """Tell whether a person is asked to grade an attempt, or has graded any of it."""
    asked = any(one.person_id == person.id for one in recording.sharing.requests)
    return asked or any(one[-1].person_id == person.id for one in histories[recording.id])


def _read(
    recording: Recording, learner: Person, sheet: Checklist, histories: Sequence[History], cover: Cover
) -> ClassAttempt:
    graded = graded_by(recording, sheet, histories, cover)
    last = [one[-1] for one in histories if not one[-1].removed]
    told = [] if graded.covered else sorted(last, key=lambda one: one.at)
    latest = {(one.step_id, one.side, one.criterion_id): one for one in told}
    return ClassAttempt(learner, graded, tuple(latest.values()), frozenset(one.person_id for one in last))
