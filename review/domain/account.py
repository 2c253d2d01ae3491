"""Accounts of people, invitations to make one, and the browsers that are signed in."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from review.domain.course import CourseRole


@dataclass(frozen=True, slots=True)
class Account:
    """How a person signs in.

    Parameters
    ----------
    person_id
        Whose it is.
    changed_at
        When the way to sign in was last changed.
    password
        What is kept of the password, see `review.identity.password`; None where the person has none.
    issuer, subject
        How the school's OpenID Connect names the person; None where it does not.
    failures
        How often in a row a wrong password came.
    locked_until
        Until when no password is looked at; None where none is barred.
    closed_at
        When the account was closed; None while it is open.
    """

    person_id: str
    changed_at: datetime
    password: str | None = None
    issuer: str | None = None
    subject: str | None = None
    failures: int = 0
    locked_until: datetime | None = None
    closed_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Invitation:
    """A place in a course for the person with a code, for whoever knows the secret of which `digest` is the SHA-256."""

    digest: str
    course_id: str
    role: CourseRole
    group: str
    code: str
    made_by: str | None
    made_at: datetime
    expires_at: datetime
    used_at: datetime | None = None

    def open_at(self, now: datetime) -> bool:
        """Tell whether it can still be taken."""
        return self.used_at is None and now < self.expires_at


@dataclass(frozen=True, slots=True)
class Login:
    """That a browser is signed in, known by the SHA-256 of its cookie."""

    digest: str
    person_id: str
    made_at: datetime
    seen_at: datetime
    expires_at: datetime
