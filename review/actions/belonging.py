"""Which course a new recording belongs to, whether that has room, and whose a film is that is here already."""

from __future__ import annotations

from review.domain.errors import EntryRefused
from review.domain.model import Person, Recording
from review.store.course_room import no_course_room
from review.store.home import Home


def course_for(person: Person, asked: str | None) -> str | None:
    """Return the id of the course that a new recording of a person belongs to; None on a machine without accounts.

    Parameters
    ----------
    person
        Who adds it.
    asked
        Id of the course the person named, if any.

    Raises
    ------
    EntryRefused
        If the person does not belong to the course named, or named none and belongs to several or to none.
    """
    if person.courses is None:
        return None
    if asked is None and len(person.courses) == 1:
        return next(iter(person.courses))
    if asked in person.courses:
        return asked
    came = "no course was named" if asked is None else f"{asked[:40]!r} was named"
    raise EntryRefused(
        f"{person.code} belongs to {len(person.courses)} courses, and {came}; expected one of one's own."
    )


def no_room_for(home: Home, person: Person, asked: str | None, more_bytes: int) -> str | None:
    """Say in one sentence why the course of a new recording has no room for a film; None if it has.

    Where it is not clear which course is meant, nothing is said: adding the film then refuses it.

    Parameters
    ----------
    home
        The home.
    person, asked
        As for `course_for`.
    more_bytes
        The film's size.
    """
    try:
        course_id = course_for(person, asked)
    except EntryRefused:
        return None
    return None if course_id is None else no_course_room(home, course_id, more_bytes)


def known_to(person: Person, recording: Recording) -> Recording:
    """Return a recording whose film came again, if the person may know that it is here.

    Raises
    ------
    EntryRefused
        Where people sign in, if somebody else added it: a film belongs to one learner.
    """
    if person.courses is not None and recording.added_by != person.id:
        raise EntryRefused(
            "Somebody else added this very film. A film is one learner's attempt: have that person ask you as a peer, "
            "or add a film of your own attempt."
        )
    return recording
