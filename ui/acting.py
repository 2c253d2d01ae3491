"""Who is at the screen.

On a machine without accounts people choose whom they work as, by code. Where people sign in, it is whoever the login
of the request belongs to, and nobody else, whatever a page or an address asks for.
"""

from __future__ import annotations

from contextvars import ContextVar
from datetime import UTC, datetime
from typing import Final

import streamlit as st
from streamlit.runtime.scriptrunner import get_script_run_ctx

from review.actions.people import ensure
from review.actions.signing_in import signed_in
from review.domain.errors import NotAllowed, NotFound
from review.domain.model import Person, Role
from review.store.database import Database
from review.store.home import Home
from review.store.repository import Repository, reading, repository
from ui.cookies import secret_of

FIRST_CODE: Final = "L-01"
"""Code of the learner who is made known when nobody is."""

_ORDER: Final = {Role.LEARNER: 0, Role.PEER: 1, Role.INSTRUCTOR: 2}

AS_ANOTHER: Final = "act as somebody else"

AT_THE_DOOR: Final[ContextVar[Person | None]] = ContextVar("who asks", default=None)
"""Whom the guard found to be signed in with the request that is answered just now."""


def everybody(home: Home) -> tuple[Person, ...]:
    """Return all whom one may work as, learners first; makes the first learner known where there is nobody yet.

    Where people sign in, that is nobody.
    """
    if _at_the_door() is not None:
        return ()
    with reading(home) as repo:
        if repo.courses().signing_in():
            return ()
        known = repo.people()
    return tuple(sorted(known or (_first(home),), key=lambda person: (_ORDER[person.role], person.code)))


def _first(home: Home) -> Person:
    """Make the first learner known."""
    with repository(home) as repo:
        return ensure(repo, FIRST_CODE, Role.LEARNER)


def acting(home: Home, code: str | None) -> Person:
    """Return the person who acts.

    Where people sign in, that is whoever is signed in. Else it is the person with this code; if none is named, who
    added the newest recording, else the first of all.

    Raises
    ------
    NotFound
        If nobody has this code: what one person does must never be kept as another's.
    NotAllowed
        Where people sign in: if nobody is signed in, or the code is another's.
    """
    person = working(home, code)
    return _themselves(home, code) if person is None else person


def working(home: Home, code: str | None) -> Person | None:
    """Return the person who acts on a machine without accounts, as `acting` says; None where people sign in."""
    if _at_the_door() is not None:
        return None
    with reading(home) as repo:
        if repo.courses().signing_in():
            return None
        if code:
            return _of_code(repo, code)
        owner = repo.newest_owner()
        if owner is not None:
            return repo.person(owner)
    return everybody(home)[0]


def _of_code(repo: Repository, code: str) -> Person:
    person = repo.person(code)
    if person.code != code:
        raise NotFound.among("person", code, [one.code for one in repo.people()])
    return person


def signing_in(home: Home | Database) -> bool:
    """Tell whether people sign in to a home."""
    with reading(home) as repo:
        return repo.courses().signing_in()


def who_signed_in(home: Home) -> Person | None:
    """Return who is signed in with the page that is drawn, or the request that is answered, just now."""
    if get_script_run_ctx(suppress_warning=True) is None:
        return _at_the_door()
    found = signed_in(home, secret_of(st.context.cookies))
    return found[0] if found else None


def _at_the_door() -> Person | None:
    """Return who is signed in with the request that is answered just now; None while a page is drawn."""
    return AT_THE_DOOR.get() if get_script_run_ctx(suppress_warning=True) is None else None


def _themselves(home: Home, code: str | None) -> Person:
    person = who_signed_in(home)
    if person is None:
        raise NotAllowed("Nobody is signed in here any more. Sign in, then do it again; nothing was changed.")
    if code and code != person.code:
        if get_script_run_ctx(suppress_warning=True) is not None:
            note_refusal(home, person, AS_ANOTHER)
        raise NotAllowed(f"{person.code} is signed in here, and somebody else was to act. Nothing was changed; reload.")
    return person


def note_refusal(home: Home | Database, person: Person, deed: str, recording_id: str | None = None) -> None:
    """Note that somebody who is signed in was refused something."""
    with repository(home) as repo:
        repo.looks().note(person.id, recording_id, deed, "", False, datetime.now(UTC))
