"""Starting a course, and changing what it and its members are."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime
from typing import Final

from review.access import Deed, demand
from review.actions.inviting import checked_group, renew
from review.actions.people import ensure
from review.domain.course import Course, CourseRole, Membership
from review.domain.errors import EntryRefused
from review.domain.model import Person, Role
from review.store.repository import Repository

_ID: Final = re.compile(r"[a-z][a-z0-9-]{0,39}")
_LONGEST_TITLE: Final = 120
_LONGEST_DAYS: Final = 3650
_MOST_GIGABYTES: Final = 1e6


def start(repo: Repository, course_id: str, title: str, owner_code: str, move: bool = False) -> str:
    """Have people sign in to a home from now on: make its first course and owner; return the owner's invitation.

    Whoever holds the files does this, at the command line; no page leads here.

    Parameters
    ----------
    course_id, title
        Names the course in addresses, and for people.
    owner_code
        Code of the first owner.
    move
        Whether the recordings that are here already go into the course: as their learners' own, not handed in, with
        no consent noted.

    Raises
    ------
    EntryRefused
        If people sign in already, the id or title is none, or there are recordings and `move` is not wished for.
    """
    courses = repo.courses()
    if courses.signing_in():
        raise EntryRefused("People sign in to this home already. Nothing was changed; invite people to its course.")
    if not _ID.fullmatch(course_id):
        raise EntryRefused(
            f"{course_id[:40]!r} came as a course's id; expected 1 to 40 small letters, digits and hyphens, a letter "
            "first. Nothing was changed."
        )
    recordings = repo.recordings()
    if recordings and not move:
        raise EntryRefused(
            f"{len(recordings)} recordings are in this home, and nobody needed to sign in to see them. Nothing was "
            f"changed. Say --move-to {course_id} to put them into the course (each as its learner's own, not handed "
            "in, with no consent noted), or name another home."
        )
    now = datetime.now(UTC)
    courses.put(Course(course_id, _checked_title(title), now))
    owner = ensure(repo, owner_code, Role.INSTRUCTOR)
    _move(repo, course_id)
    courses.put_member(Membership(course_id, owner.id, CourseRole.OWNER))
    courses.start_signing_in()
    return renew(repo, repo.person(owner.id), course_id, owner, now)


def _move(repo: Repository, course_id: str) -> None:
    """Put all recordings and who made them into a course."""
    people = {person.id: person for person in repo.people()}
    for recording in repo.recordings():
        repo.sharings().put_in_course(recording.id, course_id)
        maker = people[recording.added_by]
        role = CourseRole.INSTRUCTOR if maker.role is Role.INSTRUCTOR else CourseRole.LEARNER
        repo.courses().put_member(Membership(course_id, maker.id, role))


def set_course(
    repo: Repository, person: Person, course_id: str, title: str, retention_days: int | None, second_share: float
) -> Course:
    """Change a course's title, after how many days its recordings are erased, and the share of second raters.

    Raises
    ------
    NotAllowed
        If the person does not own the course.
    EntryRefused
        If one of them is none that can be.
    """
    demand(person, Deed.RUN_COURSE, course=course_id)
    if retention_days is not None and not 1 <= retention_days <= _LONGEST_DAYS:
        raise EntryRefused(
            f"{retention_days} days came; expected 1 to {_LONGEST_DAYS}, or none at all. Nothing was changed."
        )
    if not 0 <= second_share <= 1:
        raise EntryRefused(
            f"A share of {second_share:g} came; expected 0 (no second raters) to 1 (for every attempt). Nothing was "
            "changed."
        )
    known = repo.courses().get(course_id)
    course = replace(
        known, title=_checked_title(title), retention_days=retention_days, second_share=float(second_share)
    )
    repo.courses().put(course)
    _note(repo, person, f"course {course_id}")
    return course


def set_quota(repo: Repository, person: Person, course_id: str, gigabytes: float | None) -> Course:
    """Set how many gigabytes (1e9 bytes) the films of a course may take; None for no limit.

    Films that are there stay, even if they take more.

    Raises
    ------
    NotAllowed
        If the person does not own the course.
    EntryRefused
        If it is no number that can be.
    """
    demand(person, Deed.RUN_COURSE, course=course_id)
    if gigabytes is not None and not 1e-9 <= gigabytes <= _MOST_GIGABYTES:
        raise EntryRefused(
            f"A limit of {gigabytes:g} GB came; expected a number above 0, up to {_MOST_GIGABYTES:.0f}, or none at "
            "all. Nothing was changed."
        )
    quota = None if gigabytes is None else round(gigabytes * 1e9)
    course = replace(repo.courses().get(course_id), quota_bytes=quota)
    repo.courses().put(course)
    _note(repo, person, f"course {course_id}")
    return course


def set_member(repo: Repository, person: Person, course_id: str, code: str, role: CourseRole, group: str) -> Membership:
    """Change what a member of a course is in it, and in which group.

    Raises
    ------
    NotAllowed
        If the acting person does not own the course.
    EntryRefused
        If nobody of this code belongs to it, or it would be left without an owner.
    """
    demand(person, Deed.RUN_COURSE, course=course_id)
    member = _member(repo, course_id, code)
    if role is not CourseRole.OWNER:
        _expect_another_owner(repo, course_id, member)
    teaches = repo.person(member.person_id).role is Role.INSTRUCTOR
    if teaches is (role is CourseRole.LEARNER):
        raise EntryRefused(
            f"{code} is known as {'an instructor' if teaches else 'a learner'}. Nothing was changed; invite another "
            "code for the other role, so that grades stay told apart."
        )
    changed = replace(member, role=role, group=checked_group(group))
    repo.courses().put_member(changed)
    _note(repo, person, f"{code} is {role}")
    return changed


def remove_member(repo: Repository, person: Person, course_id: str, code: str) -> None:
    """Have a person no longer belong to a course; recordings and what was said of others stay.

    The person's logins end, and invitations that were not taken are void.
    """
    demand(person, Deed.RUN_COURSE, course=course_id)
    member = _member(repo, course_id, code)
    _expect_another_owner(repo, course_id, member)
    repo.courses().drop_member(course_id, member.person_id)
    repo.accounts().drop_invitations(repo.person(member.person_id).code, course_id)
    repo.accounts().end_all(member.person_id)
    _note(repo, person, f"removed {code}")


def _member(repo: Repository, course_id: str, code: str) -> Membership:
    codes = {one.id: one.code for one in repo.people()}
    for member in repo.courses().members(course_id):
        if codes.get(member.person_id) == code.strip().upper():
            return member
    raise EntryRefused(f"{code[:40]!r} does not belong to this course. Nothing was changed; reload and look again.")


def _expect_another_owner(repo: Repository, course_id: str, member: Membership) -> None:
    owners = {one.person_id for one in repo.courses().members(course_id) if one.role is CourseRole.OWNER}
    if owners == {member.person_id}:
        raise EntryRefused("This is the only owner of the course. Nothing was changed; make somebody else one first.")


def _checked_title(title: str) -> str:
    plain = title.strip()
    if not 1 <= len(plain) <= _LONGEST_TITLE or not plain.isprintable():
        raise EntryRefused(
            f"{plain[:20]!r} came as a course's title; expected 1 to {_LONGEST_TITLE} printable characters. Nothing "
            "was changed."
        )
    return plain


def _note(repo: Repository, person: Person, what: str) -> None:
    repo.looks().note(person.id, None, str(Deed.RUN_COURSE), what, True, datetime.now(UTC))
