"""Inviting people to a course by their codes, and taking what an invitation offers."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Final

from review.access import Deed, demand
from review.actions.people import ensure
from review.actions.signing_in import open_login
from review.domain.account import Account, Invitation
from review.domain.course import CourseRole, Membership
from review.domain.errors import EntryRefused, NotFound
from review.domain.model import Person, Role
from review.identity import password as passwords
from review.identity import secret as secrets
from review.store.database import Database
from review.store.home import Home
from review.store.repository import Repository, reading, repository

LASTING: Final = timedelta(days=14)
"""How long an invitation can be taken; common practice, no source."""

LONGEST_GROUP: Final = 40
_TAKEN: Final = (
    "This invitation cannot be taken: it was taken before, its time is over, or a newer one was made. Ask whoever runs "
    "the course for a new one."
)


def invite(
    repo: Repository,
    person: Person,
    course_id: str,
    code: str,
    role: CourseRole,
    group: str = "",
    now: datetime | None = None,
) -> str:
    """Have the person with a code belong to a course, and return the secret of an invitation to make an account.

    Earlier invitations of the code to this course are void. Whoever has an account already takes the invitation to
    set another password.

    Parameters
    ----------
    person
        Who invites.
    course_id
        To which course.
    code
        One person's; nobody is invited by name.
    role, group
        What the person is in the course, and in which group.

    Raises
    ------
    NotAllowed
        If the inviting person does not own the course.
    EntryRefused
        If the code is none, stands for a person of another kind, or belongs to a course of somebody else.
    """
    demand(person, Deed.RUN_COURSE, course=course_id)
    invited = ensure(repo, code, _ROLES[role])
    _expect_ours(repo, person, course_id, invited)
    repo.courses().put_member(Membership(course_id, invited.id, role, checked_group(group)))
    return renew(repo, person, course_id, invited, now)


def renew(repo: Repository, person: Person, course_id: str, member: Person, now: datetime | None = None) -> str:
    """Make a new invitation for a member of a course, as when a password was forgotten, and return its secret."""
    demand(person, Deed.RUN_COURSE, course=course_id)
    _expect_ours(repo, person, course_id, member)
    at = now or datetime.now(UTC)
    found = [one for one in repo.courses().members(course_id) if one.person_id == member.id]
    if not found:
        raise EntryRefused(
            f"{member.code} does not belong to this course. Nothing was changed; invite that code first."
        )
    secret = secrets.fresh()
    place = (course_id, found[0].role, found[0].group, member.code)
    repo.accounts().drop_invitations(member.code)
    repo.accounts().put_invitation(Invitation(str(secrets.digest(secret)), *place, person.id, at, at + LASTING))
    repo.looks().note(person.id, None, str(Deed.RUN_COURSE), f"invited {member.code}", True, at)
    return secret


_ROLES: Final = {
    CourseRole.LEARNER: Role.LEARNER,
    CourseRole.INSTRUCTOR: Role.INSTRUCTOR,
    CourseRole.OWNER: Role.INSTRUCTOR,
}


def _expect_ours(repo: Repository, person: Person, course_id: str, member: Person) -> None:
    """Expect that nobody else's course would be opened by an invitation: it can set a person's password."""
    theirs = repo.courses().roles_of(member.id)
    own = person.courses or {}
    if any(own.get(course) is not CourseRole.OWNER for course in theirs if course != course_id):
        raise EntryRefused(
            f"{member.code} belongs to a course that {person.code} does not own, so no invitation can be made for that "
            "code here. Nothing was changed; take another code."
        )


def checked_group(group: str) -> str:
    """Return the name of a group, without spaces at its ends.

    Raises
    ------
    EntryRefused
        If it is too long or holds signs that cannot be printed.
    """
    name = group.strip()
    if len(name) > LONGEST_GROUP or not name.isprintable():
        raise EntryRefused(
            f"{name[:20]!r} came as a group's name; expected at most {LONGEST_GROUP} printable characters. Nothing was "
            "changed."
        )
    return name


def offered(home: Home | Database, secret: str, now: datetime | None = None) -> Invitation:
    """Return the invitation of a secret while it can be taken.

    Raises
    ------
    NotFound
        If it cannot (any more).
    """
    with reading(home) as repo:
        return _open(repo, secret, now or datetime.now(UTC))


def take_with_password(home: Home | Database, secret: str, password: str, now: datetime | None = None) -> str:
    """Take an invitation: set the person's password, end all logins, and return the secret of a new one.

    Raises
    ------
    NotFound
        If the invitation cannot be taken.
    EntryRefused
        If the password cannot be used.
    """
    at = now or datetime.now(UTC)
    passwords.check_password(password, offered(home, secret, at).code)
    kept = passwords.kept(password)
    with repository(home) as repo:
        account = _taken(repo, secret, at)
        return _opened(repo, replace(account, password=kept, failures=0, locked_until=None), at)


def take_with_subject(
    home: Home | Database, secret: str, issuer: str, subject: str, now: datetime | None = None
) -> str:
    """Take an invitation: from now on the person signs in as a subject of the school's OpenID Connect.

    Raises
    ------
    NotFound
        If the invitation cannot be taken.
    EntryRefused
        If somebody else signs in as that subject already.
    """
    at = now or datetime.now(UTC)
    with repository(home) as repo:
        account, other = _taken(repo, secret, at), repo.accounts().of_subject(issuer, subject)
        if other is not None and other.person_id != account.person_id:
            raise EntryRefused(
                "The school's account is bound to another code here. Nothing was changed; sign in as that code, or ask "
                "whoever runs the course."
            )
        return _opened(repo, replace(account, issuer=issuer, subject=subject), at)


def _open(repo: Repository, secret: str, at: datetime) -> Invitation:
    digest = secrets.digest(secret)
    found = None if digest is None else repo.accounts().invitation(digest)
    if found is None or not found.open_at(at):
        raise NotFound(_TAKEN)
    return found


def _taken(repo: Repository, secret: str, at: datetime) -> Account:
    """Note an invitation as taken and return the account of its person, which may be a new one."""
    invitation = _open(repo, secret, at)
    person = repo.person(invitation.code)
    if invitation.course_id not in repo.courses().roles_of(person.id):
        raise NotFound(_TAKEN)
    repo.accounts().put_invitation(replace(invitation, used_at=at))
    known = repo.accounts().of(person.id) or Account(person.id, at)
    return replace(known, changed_at=at, closed_at=None)


def _opened(repo: Repository, account: Account, at: datetime) -> str:
    repo.accounts().put(account)
    repo.accounts().end_all(account.person_id)
    repo.looks().note(account.person_id, None, "take an invitation", "", True, at)
    return open_login(repo, account.person_id, at)
