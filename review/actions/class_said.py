"""What the people of the demo's class say of one attempt: marks, grades, comments, and what they uncovered by it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Final
from uuid import UUID, uuid5

import numpy as np

from review.actions import class_story
from review.actions.class_story import INSTRUCTORS, PEER, PEERS_REMARKS, REMARKS, Performance, Place, Rater, Said
from review.actions.grades import id_of
from review.domain.checklist import Checklist
from review.domain.model import Comment, Grade, Interval, Mark, Person, Recording, Uncovering
from review.domain.standard import Overall
from review.store.repository import Repository

_NAMESPACE: Final = UUID("0d9a3c52-65a7-4a58-8d0f-6b1f7f0c2e91")
_LOOKED_AFTER: Final = {"self": timedelta(hours=1), "peer": timedelta(hours=26), "instructor": timedelta(hours=52)}
_GAP_S: Final = 0.15


@dataclass(frozen=True, slots=True)
class Cast:
    """Who is in the class, and the sheet they work with."""

    learners: tuple[Person, ...]
    instructors: tuple[Person, ...]
    sheet: Checklist

    def peer_of(self, number: int, attempt: int) -> Person:
        """Return who grades an attempt as a peer: another learner, each time another one."""
        further = 1 + (attempt - 1) % (len(self.learners) - 1)
        return self.learners[(number - 1 + further) % len(self.learners)]

    def instructor_of(self, number: int) -> int:
        """Return the place of the instructor who grades a learner."""
        return number % len(self.instructors)


def say(repo: Repository, cast: Cast, recording: Recording, number: int, waits: bool) -> None:
    """Store all that is said of an attempt.

    Parameters
    ----------
    repo
        Open transaction.
    cast, recording
        Who is in the class, and the attempt.
    number
        Of the learner, from 1.
    waits
        Whether it waits for its instructor's grades still.
    """
    learner, done = cast.learners[number - 1], class_story.performance(cast.sheet, number, recording.attempt)
    marks = list(_marks(recording, learner, done))
    bulk = repo.bulk()
    bulk.say(marks)
    place = cast.instructor_of(number)
    raters = [
        ("self", learner, class_story.oneself(recording.attempt)),
        ("peer", cast.peer_of(number, recording.attempt), PEER),
    ]
    raters += [] if waits else [("instructor", cast.instructors[place], INSTRUCTORS[place % len(INSTRUCTORS)])]
    for drawn, (kind, who, rater) in enumerate(raters):
        at = _when(recording, kind)
        given = class_story.graded(done, cast.sheet.scale, rater, [number, recording.attempt, drawn])
        bulk.say(_grades(recording, who, given, at))
        bulk.uncover([Uncovering(recording.id, who.id, *step, at) for step in given])
    if not waits:
        rating = class_story.overall(done, INSTRUCTORS[place % len(INSTRUCTORS)], [number, recording.attempt, 9])
        at = _when(recording, "instructor")
        repo.standards().put_overall(Overall(recording.id, cast.instructors[place].id, rating, at))
    comments = [_comment(recording, who, mark, text, at) for who, mark, text, at in _remarks(recording, raters, marks)]
    bulk.say(comments)


def _when(recording: Recording, kind: str) -> datetime:
    """Return when somebody looked, never later than now."""
    return min(recording.added_at + _LOOKED_AFTER[kind], datetime.now(UTC))


def _marks(recording: Recording, learner: Person, done: Performance) -> Iterator[Mark]:
    """Lay the steps one after the other over the film."""
    ends = np.linspace(0.0, recording.duration_s - _GAP_S, len(done.places) + 1)
    at = _when(recording, "self")
    for (step, side), onset, offset in zip(done.places, ends[:-1].tolist(), ends[1:].tolist(), strict=True):
        seconds = Interval(round(onset, 3), round(offset - _GAP_S, 3))
        yield Mark(_id(recording, "mark", step, side or ""), recording.id, step, side, seconds, learner.id, at)


def _grades(recording: Recording, who: Person, given: Mapping[Place, Said], at: datetime) -> list[Grade]:
    return [
        Grade(
            id=id_of(who, recording, step, side),
            recording_id=recording.id,
            step_id=step,
            side=side,
            criterion_id=None,
            level=one.level,
            confidence=one.confidence,
            person_id=who.id,
            at=at,
            after_reveal=False,
        )
        for (step, side), one in given.items()
    ]


def _remarks(
    recording: Recording, raters: Sequence[tuple[str, Person, Rater]], marks: Sequence[Mark]
) -> Iterator[tuple[Person, Mark, str, datetime]]:
    """Choose steps to speak of: three for an instructor, one for a peer."""
    rng = np.random.default_rng([class_story.START, int(recording.sha256[:8], 16)])
    for kind, who, _ in raters:
        count, words = {"self": (0, ()), "peer": (1, PEERS_REMARKS), "instructor": (3, REMARKS)}[kind]
        for place in sorted(rng.choice(len(marks), min(count, len(marks)), replace=False).tolist()):
            yield who, marks[place], str(rng.choice(words)), _when(recording, kind)


def _comment(recording: Recording, who: Person, mark: Mark, text: str, at: datetime) -> Comment:
    middle = round((mark.interval.onset_s + mark.interval.offset_s) / 2, 3)
    return Comment(
        id=_id(recording, "comment", who.code, mark.id),
        recording_id=recording.id,
        interval=Interval(middle, middle),
        text=text,
        person_id=who.id,
        at=at,
        step_id=mark.step_id,
        side=mark.side,
    )


def _id(recording: Recording, *parts: str) -> str:
    return str(uuid5(_NAMESPACE, "\n".join([recording.sha256, *parts])))
