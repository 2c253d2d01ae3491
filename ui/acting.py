"""Who is at the screen. One machine without accounts: people choose whom they work as, by code."""

from __future__ import annotations

from typing import Final

from review.actions.people import ensure
from review.domain.errors import NotFound
from review.domain.model import Person, Role
from review.store.home import Home
from review.store.repository import reading, repository

FIRST_CODE: Final = "L-01"
"""Code of the learner who is made known when nobody is."""

_ORDER: Final = {Role.LEARNER: 0, Role.PEER: 1, Role.INSTRUCTOR: 2}


def everybody(home: Home) -> tuple[Person, ...]:
    """Return all people, learners first; makes the first learner known where there is nobody yet."""
    with reading(home) as repo:
        known = repo.people()
    if not known:
        with repository(home) as repo:
            known = (ensure(repo, FIRST_CODE, Role.LEARNER),)
    return tuple(sorted(known, key=lambda person: (_ORDER[person.role], person.code)))


def acting(home: Home, code: str | None) -> Person:
    """Return the person with this code; if none is named, who added the newest recording, else the first of all.

    Raises
    ------
    NotFound
        If nobody has this code: what one person does must never be kept as another's.
    """
    known = everybody(home)
    for person in known:
        if person.code == code:
            return person
    if not code:
        return next((person for person in known if person.id == _newest_owner(home)), known[0])
    raise NotFound.among("person", code, [person.code for person in known])


def _newest_owner(home: Home) -> str | None:
    with reading(home) as repo:
        newest = max(repo.recordings(), key=lambda recording: recording.added_at, default=None)
    return newest.added_by if newest else None
