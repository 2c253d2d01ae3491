"""Knowing who acts: by a code, never by a name."""

from __future__ import annotations

import re
from typing import Final
from uuid import uuid4

from review.domain.errors import EntryRefused, NotFound
from review.domain.model import Person, Role
from review.store.repository import Repository

_CODE: Final = re.compile(r"[A-Z]{1,4}-[0-9]{1,4}")


def ensure(repo: Repository, code: str, role: Role) -> Person:
    """Return the person with this code, made if there is none yet.

    Parameters
    ----------
    repo
        Open transaction.
    code
        One to four letters, a hyphen, one to four digits; small letters are taken as capitals.
    role
        What the person is.

    Raises
    ------
    EntryRefused
        If the code is not of that form, or stands for a person with another role.
    """
    wanted = code.strip().upper()
    if not _CODE.fullmatch(wanted):
        raise EntryRefused(
            f"{code[:40]!r} came as a person's code; expected letters, a hyphen and digits, such as L-07. "
            "Use no names: a code keeps who it is out of the files."
        )
    try:
        person = repo.person(wanted)
    except NotFound:
        person = Person(id=str(uuid4()), code=wanted, role=Role(role))
        repo.put_person(person)
    if person.role != role:
        raise EntryRefused(
            f"{wanted} is known as {person.role}, and came as {Role(role)}. Take another code for the second role."
        )
    return person
