"""The home's settings, its courses, and who belongs to them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Final

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from review.domain.course import Course, CourseRole, Membership
from review.domain.errors import NotFound
from review.store.class_tables import CourseRow, MembershipRow, SettingRow

_MODE: Final = "mode"
_CLASS: Final = "class"


class Courses:
    """The tables of courses and memberships, seen from inside one transaction."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._settings: dict[str, str | None] = {}

    def signing_in(self) -> bool:
        """Tell whether people sign in to this home; without that whoever is at the machine may act as anybody."""
        return self.setting(_MODE) == _CLASS

    def start_signing_in(self) -> None:
        """Have people sign in from now on."""
        self.put_setting(_MODE, _CLASS)

    def setting(self, name: str) -> str | None:
        """Return a setting of the home, or None."""
        if name not in self._settings:
            row = self._session.get(SettingRow, name)
            self._settings[name] = None if row is None else row.value
        return self._settings[name]

    def put_setting(self, name: str, value: str) -> None:
        """Store a setting of the home."""
        self._session.merge(SettingRow(name=name, value=value))
        self._session.flush()
        self._settings.pop(name, None)

    def all(self) -> tuple[Course, ...]:
        """Return all courses, by title."""
        asked = select(CourseRow).order_by(CourseRow.title, CourseRow.id)
        return tuple(_read(row) for row in self._session.scalars(asked))

    def get(self, course_id: str) -> Course:
        """Return a course.

        Raises
        ------
        NotFound
            If there is none of this id.
        """
        row = self._session.get(CourseRow, course_id)
        if row is None:
            raise NotFound(f"There is no course {course_id[:40]!r}; it may have been removed. Reload and choose again.")
        return _read(row)

    def put(self, course: Course) -> None:
        """Store a course, new or changed."""
        self._session.merge(CourseRow(**asdict(course)))
        self._session.flush()

    def members(self, course_id: str) -> tuple[Membership, ...]:
        """Return who belongs to a course, by group."""
        row = MembershipRow
        asked = select(row).where(row.course_id == course_id).order_by(row.group, row.person_id)
        return tuple(_member(found) for found in self._session.scalars(asked))

    def put_member(self, membership: Membership) -> None:
        """Store that a person belongs to a course, new or changed."""
        self._session.merge(MembershipRow(**asdict(membership)))
        self._session.flush()

    def drop_member(self, course_id: str, person_id: str) -> None:
        """Have a person no longer belong to a course."""
        row = MembershipRow
        self._session.execute(delete(row).where(row.course_id == course_id, row.person_id == person_id))

    def roles(self) -> Mapping[str, Mapping[str, CourseRole]]:
        """Return the roles of everybody: by person, then by course."""
        row = MembershipRow
        found: dict[str, dict[str, CourseRole]] = {}
        for person, course, role in self._session.execute(
            select(row.person_id, row.course_id, row.role).order_by(row.person_id, row.course_id)
        ):
            found.setdefault(person, {})[course] = CourseRole(role)
        return found

    def roles_of(self, person_id: str) -> Mapping[str, CourseRole]:
        """Return the roles of one person by course."""
        row = MembershipRow
        asked = select(row.course_id, row.role).where(row.person_id == person_id).order_by(row.course_id)
        return {course: CourseRole(role) for course, role in self._session.execute(asked)}


def _read(row: CourseRow) -> Course:
    return Course(row.id, row.title, row.created_at, row.retention_days, row.second_share, row.quota_bytes)


def _member(row: MembershipRow) -> Membership:
    return Membership(row.course_id, row.person_id, CourseRole(row.role), row.group)
