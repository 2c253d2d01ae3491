"""Who belongs to a course, and whether they can sign in."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from review.access import Deed, demand
from review.domain.course import Course, CourseRole
from review.domain.model import Person
from review.store.repository import Repository


def owned(repo: Repository, person: Person) -> tuple[Course, ...]:
    """Return the courses that a person owns, by title."""
    roles = person.courses or {}
    return tuple(course for course in repo.courses().all() if roles.get(course.id) is CourseRole.OWNER)


def members(repo: Repository, person: Person, course_id: str) -> list[dict[str, Any]]:
    """Return everybody of a course, for those who run it.

    Returns
    -------
    list of dict
        Keys ``code``, ``role``, ``group``, ``signs_in`` (whether there is an account), ``invited_until`` (last moment
        of an invitation that waits, or None), by group, then by code.
    """
    demand(person, Deed.RUN_COURSE, course=course_id)
    now, codes = datetime.now(UTC), {one.id: one.code for one in repo.people()}
    holders = repo.accounts().holders()
    waiting = {one.code: one.expires_at for one in repo.accounts().invitations(course_id) if one.open_at(now)}
    found = [
        {
            "code": codes[one.person_id],
            "role": str(one.role),
            "group": one.group,
            "signs_in": one.person_id in holders,
            "invited_until": waiting.get(codes[one.person_id]),
        }
        for one in repo.courses().members(course_id)
    ]
    return sorted(found, key=lambda row: (str(row["group"]), str(row["code"])))
