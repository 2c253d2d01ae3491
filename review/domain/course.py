"""Courses, who belongs to them, and as what."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class CourseRole(StrEnum):
    """What a person is in a course."""

    LEARNER = "learner"
    INSTRUCTOR = "instructor"
    OWNER = "owner"


@dataclass(frozen=True, slots=True)
class Course:
    """A course in which attempts are handed in.

    Parameters
    ----------
    id
        Names it in the database and in addresses.
    title
        As people call it.
    created_at
        When it was made.
    retention_days
        After how many days a recording is erased, counted from its adding; None where no date is set.
    second_share
        Share (0 to 1) of the attempts that a second instructor, drawn at random, is to grade as well.
    quota_bytes
        How many bytes the films of its recordings may take; None where there is no limit.
    """

    id: str
    title: str
    created_at: datetime
    retention_days: int | None = None
    second_share: float = 0.0
    quota_bytes: int | None = None


@dataclass(frozen=True, slots=True)
class Membership:
    """That a person belongs to a course, as what, and in which group (empty where there are none)."""

    course_id: str
    person_id: str
    role: CourseRole
    group: str = ""
