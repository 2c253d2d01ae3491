"""The attempts of a class as instructors graded them: what the Class page is worked out from, by few queries."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from review.domain.checklist import DEFAULT_CHECKLIST, Checklist
from review.domain.model import Grade, Person, Recording, Role, Uncovering
from review.domain.result import Result, result_of
from review.report.cover import Cover
from review.report.graded import Given, Graded, Place, graded_by
from review.store.repository import Repository

History = tuple[Grade, ...]


@dataclass(frozen=True, slots=True)
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
    latest: tuple[Grade, ...]
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

    def result(self) -> Result | None:
        """Return what the instructors' grades come to; None where there are none, or one is covered."""
        return result_of(self.graded.sheet, self.latest) if self.latest else None


def attempts_of(repo: Repository, people: Mapping[str, Person]) -> list[Recording]:
    """Return the learners' attempts of the one course that all recordings of this machine make up, newest first.

    Those whose examined person took the consent back are left out.
    """
    found = [one for one in repo.recordings() if people[one.added_by].role is Role.LEARNER]
    return [one for one in found if not one.sharing.withdrawn]


def sheet_id(recording: Recording) -> str:
    """Return the id of the sheet that an attempt is graded by."""
    return recording.checklist_id or DEFAULT_CHECKLIST


def read_attempts(
    repo: Repository, person: Person, recordings: Sequence[Recording], people: Mapping[str, Person]
) -> list[ClassAttempt]:
    """Return attempts with the grades that instructors gave them, in the order in which they came.

    Parameters
    ----------
    repo, person
        Open transaction, and who looks.
    recordings
        Attempts of learners.
    people
        Everybody by id.
    """
    teachers = [one.id for one in people.values() if one.role is Role.INSTRUCTOR]
    histories = repo.gradings().of((one.id for one in recordings), teachers, criteria=True)
    seen: dict[str, list[Uncovering]] = {}
    for one in repo.uncoverings().by(person.id):
        seen.setdefault(one.recording_id, []).append(one)
    sheets = _sheets(repo, recordings)
    return [
        _read(
            recording,
            people[recording.added_by],
            sheets[recording.checklist_id, recording.checklist_version],
            [one for one in histories[recording.id] if one[-1].person_id != recording.added_by],
            Cover(seen.get(recording.id, ()), person),
        )
        for recording in recordings
    ]


def _sheets(repo: Repository, recordings: Iterable[Recording]) -> dict[tuple[str | None, int | None], Checklist]:
    one_each = {(one.checklist_id, one.checklist_version): one for one in recordings}
    return {key: repo.sheet_of(one) for key, one in one_each.items()}


def _read(
    recording: Recording, learner: Person, sheet: Checklist, histories: Sequence[History], cover: Cover
) -> ClassAttempt:
    graded = graded_by(recording, sheet, histories, cover)
    last = sorted((one[-1] for one in histories if not one[-1].removed), key=lambda one: one.at)
    latest = {} if graded.covered else {(one.step_id, one.side, one.criterion_id): one for one in last}
    return ClassAttempt(learner, graded, tuple(latest.values()), frozenset(one.person_id for one in last))
