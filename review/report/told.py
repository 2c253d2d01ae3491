"""What people said of one attempt, as far as one person may see it: the ground of every export."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from typing import TypeVar

from review.access import Deed, allowed
from review.domain.checklist import Checklist, GradeLevel
from review.domain.entries import Entry
from review.domain.model import Comment, Grade, Interval, Mark, Person, Recording, Side
from review.exchange.said import Author, Said, SaidComment, SaidGrade, SaidMark
from review.report.cover import Cover
from review.report.sign_off import ToldSignOff, sign_off_of
from review.store.home import Home
from review.store.repository import reading

Something = TypeVar("Something", Comment, Grade, Entry)

GIVEN = {False: "before", True: "after", None: None}
"""When a grade was given, by whether the rater had seen estimates and others' grades."""


@dataclass(frozen=True, slots=True)
class Told:
    """An attempt with all that the person who asks may see of it.

    Parameters
    ----------
    recording, sheet, people, person, cover
        What, by which sheet, everybody by id, who asks, and what is covered for that person.
    marks, grades, comments, entries
        What was said and is not covered.
    left_out
        How many grades, comments and entries are covered.
    sign_off
        The sign-off, as far as it is told.
    """

    recording: Recording
    sheet: Checklist
    people: Mapping[str, Person]
    person: Person
    cover: Cover
    marks: tuple[Mark, ...]
    grades: tuple[Grade, ...]
    comments: tuple[Comment, ...]
    entries: tuple[Entry, ...]
    left_out: int
    sign_off: ToldSignOff

    def author(self, person_id: str) -> Author:
        """Return who said something."""
        person = self.people[person_id]
        return Author(person.code, str(person.role))

    def last_mark(self, person_id: str, step_id: str, side: Side | None) -> Mark | None:
        """Return the mark of a step that a person set last in the film."""
        fitting = [one for one in self.marks if (one.person_id, one.step_id, one.side) == (person_id, step_id, side)]
        return max(fitting, key=lambda mark: (mark.interval, mark.id), default=None)

    def level(self, key: str) -> GradeLevel | None:
        """Return a level of the sheet's scale; None if the scale has none of this key any more."""
        return next((level for level in self.sheet.scale.levels if level.key == key), None)

    def titles(self) -> dict[str, str]:
        """Return the title of each step by its id."""
        return {step.id: step.title for step in self.sheet.steps()}


def told(home: Home, person: Person, recording: Recording) -> Told:
    """Gather what a person may see of an attempt."""
    with reading(home) as repo:
        recording = allowed(repo, person, Deed.SEE, recording.id)
        cover = Cover(repo.uncoverings().of(recording.id, person.id), person)
        grades, comments = repo.grades(recording.id), repo.comments(recording.id)
        entries = repo.entries(recording.id)
        shown = _shown(cover, grades), _shown(cover, comments), _shown(cover, entries)
        return Told(
            recording=recording,
            sheet=repo.sheet_of(recording),
            people={one.id: one for one in repo.people()},
            person=person,
            cover=cover,
            marks=repo.marks(recording.id),
            grades=shown[0],
            comments=shown[1],
            entries=shown[2],
            left_out=len(grades) + len(comments) + len(entries) - sum(map(len, shown)),
            sign_off=sign_off_of(repo, person, recording),
        )


def _shown(cover: Cover, found: Iterable[Something]) -> tuple[Something, ...]:
    return tuple(one for one in found if not cover.hides(one.step_id, one.side, one.person_id))


def said(attempt: Told) -> Said:
    """Return what was said of an attempt in the form in which files carry it."""
    film = attempt.recording
    return Said(
        film_sha256=film.sha256,
        name=film.name,
        width_px=film.width_px,
        height_px=film.height_px,
        duration_ms=milliseconds(film.duration_s),
        checklist=attempt.sheet.id,
        checklist_version=attempt.sheet.version,
        titles=attempt.titles(),
        marks=tuple(_mark(attempt, one) for one in attempt.marks),
        comments=tuple(_comment(attempt, one) for one in attempt.comments),
        grades=tuple(_grade(attempt, one) for one in attempt.grades),
        left_out=attempt.left_out,
    )


def milliseconds(seconds: float) -> int:
    """Return a time in the unit in which files carry it."""
    return round(1000 * seconds)


def span(seconds: Interval) -> tuple[int, int]:
    """Return both ends of a stretch in milliseconds."""
    return milliseconds(seconds.onset_s), milliseconds(seconds.offset_s)


def _mark(attempt: Told, mark: Mark) -> SaidMark:
    by = attempt.author(mark.person_id)
    return SaidMark(mark.id, mark.step_id, mark.side, *span(mark.interval), by, mark.at)


def _comment(attempt: Told, comment: Comment) -> SaidComment:
    onset_ms, offset_ms = span(comment.interval)
    return SaidComment(
        id=comment.id,
        step=comment.step_id,
        side=comment.side,
        onset_ms=onset_ms,
        offset_ms=offset_ms,
        text=comment.text,
        by=attempt.author(comment.person_id),
        at=comment.at,
        reply_to=comment.reply_to,
        shape=None if comment.shape is None else asdict(comment.shape),
        settled=comment.resolved_by is not None,
    )


def _grade(attempt: Told, grade: Grade) -> SaidGrade:
    mark = attempt.last_mark(grade.person_id, grade.step_id, grade.side)
    level = attempt.level(grade.level)
    onset_ms, offset_ms = (None, None) if mark is None else span(mark.interval)
    return SaidGrade(
        id=grade.id,
        step=grade.step_id,
        side=grade.side,
        criterion=grade.criterion_id,
        level=grade.level,
        word=level.word if level else grade.level,
        confidence=grade.confidence,
        given=GIVEN[grade.after_reveal],
        by=attempt.author(grade.person_id),
        at=grade.at,
        onset_ms=onset_ms,
        offset_ms=offset_ms,
    )
