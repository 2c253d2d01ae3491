"""Attempts with the grades that a person may see of them: what raters are compared by, and progress is told from."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Final

from review.access import Deed, may
from review.domain.checklist import DEFAULT_CHECKLIST, Checklist, GradeScale
from review.domain.model import Person, Recording, Role, Side, Uncovering
from review.report.cover import Cover
from review.store.gradings import Revision
from review.store.repository import Repository

Place = tuple[str, Side | None]
"""A step of a sheet, and the side it is done on."""

ROLE_ORDER: Final = {Role.LEARNER: 0, Role.PEER: 1, Role.INSTRUCTOR: 2}


@dataclass(frozen=True, slots=True)
class Given:
    """The grade that a person gave a step.

    `blind` is the level the person gave last before seeing what others said of the step; None where every grade came
    after that. Only such grades tell how far two people agree.
    """

    place: Place
    person_id: str
    level: str
    confidence: int | None
    blind: str | None
    at: datetime


@dataclass(frozen=True)
class Graded:
    """An attempt with the grades that may be seen of it; `covered` counts by place those that are covered still."""

    recording: Recording
    sheet: Checklist
    cover: Cover
    given: tuple[Given, ...]
    covered: Mapping[Place, int]

    @property
    def places(self) -> list[Place]:
        """All steps with their sides, in the sheet's order."""
        return [(step.id, side) for step in self.sheet.steps() for side in step.places]

    def by(self, person_id: str) -> Mapping[Place, Given]:
        """Return a person's grades by place."""
        return self._by_person.get(person_id, {})

    @cached_property
    def _by_person(self) -> dict[str, dict[Place, Given]]:
        found: dict[str, dict[Place, Given]] = {}
        for one in self.given:
            found.setdefault(one.person_id, {})[one.place] = one
        return found


@dataclass(frozen=True, slots=True)
class Subject:
    """One learner's attempts at one sheet, oldest first."""

    learner: Person
    checklist_id: str
    recordings: tuple[Recording, ...]


def subjects(repo: Repository, person: Person) -> list[Subject]:
    """Return whose attempts at which sheets a person may see: one's own first, then those with the newest attempt."""
    people = {one.id: one for one in repo.people()}
    found: dict[tuple[str, str], list[Recording]] = {}
    for recording in repo.recordings():
        if may(person, Deed.SEE, recording):
            found.setdefault((recording.added_by, recording.checklist_id or DEFAULT_CHECKLIST), []).append(recording)
    listed = [Subject(people[who], sheet, tuple(reversed(taken))) for (who, sheet), taken in found.items()]
    return sorted(listed, key=lambda one: one.learner.id != person.id)


def graded(
    repo: Repository, person: Person, recordings: Sequence[Recording], by: Collection[str] | None = None
) -> list[Graded]:
    """Return attempts with their grades, those that are covered for the person left out and counted.

    Parameters
    ----------
    repo, person, recordings
        Open transaction, for whom, and which attempts.
    by
        Ids of the people whose grades are asked for; None for everybody's.
    """
    histories = repo.gradings().of((recording.id for recording in recordings), by)
    seen, sheets = uncovered_by(repo, person, recordings), sheets_of(repo, recordings)
    return [
        graded_by(
            recording,
            sheets[recording.checklist_id, recording.checklist_version],
            histories[recording.id],
            Cover(seen.get(recording.id, ()), person),
        )
        for recording in recordings
    ]


def uncovered_by(repo: Repository, person: Person, recordings: Iterable[Recording]) -> dict[str, list[Uncovering]]:
    """Return what a person uncovered of recordings, by recording's id; none is in it of which that is nothing."""
    seen: dict[str, list[Uncovering]] = {}
    for one in repo.uncoverings().by(person.id, {recording.id for recording in recordings}):
        seen.setdefault(one.recording_id, []).append(one)
    return seen


def sheets_of(repo: Repository, recordings: Iterable[Recording]) -> dict[tuple[str | None, int | None], Checklist]:
    """Return the sheets of recordings, by id and version as the recordings name them."""
    one_each = {(one.checklist_id, one.checklist_version): one for one in recordings}
    return {key: repo.sheet_of(one) for key, one in one_each.items()}


def graded_by(
    recording: Recording, sheet: Checklist, histories: Iterable[tuple[Revision, ...]], cover: Cover
) -> Graded:
    """Return an attempt with its grades, those left out and counted that are covered.

    Grades of a criterion among the histories are passed over.
    """
    shown: list[Given] = []
    covered: dict[Place, int] = {}
    for history in histories:
        last = history[-1]
        place = (last.step_id, last.side)
        if last.removed or last.criterion_id is not None:
            continue
        if cover.hides(*place, last.person_id):
            covered[place] = covered.get(place, 0) + 1
        else:
            shown.append(Given(place, last.person_id, last.level, last.confidence, _blind(history), last.at))
    return Graded(recording, sheet, cover, tuple(shown), covered)


def _blind(history: Sequence[Revision]) -> str | None:
    before = [one.level for one in history if not one.removed and not one.after_reveal]
    return before[-1] if before else None


def levels_of(scale: GradeScale) -> dict[str, int]:
    """Return the place of each level on the scale, 0 being the best; *not assessable* is none of them."""
    return {level.key: place for place, level in enumerate(scale.worth)}


def share_of(scale: GradeScale, key: str) -> float | None:
    """Return the share of a step's points that a level carries; None for *not assessable* or a level unknown here."""
    return next((level.share for level in scale.levels if level.key == key), None)


def word_of(scale: GradeScale, key: str) -> str:
    """Return the word of a level; its key where the scale has no such level."""
    return next((level.word for level in scale.levels if level.key == key), key)
