"""Whether a course may grow: what the films of its recordings take, and the limit set for it."""

from __future__ import annotations

from collections.abc import Mapping

from review.domain.errors import InputError
from review.store.belongings import places_of
from review.store.home import Home
from review.store.media import find_original
from review.store.repository import Repository, reading
from review.store.room import bytes_below, counted_lately, size_words


def used_bytes(home: Home, repo: Repository, course_id: str) -> int:
    """Return how many bytes the films of a course take: originals, their copies, stills and tracks.

    A recording counts for the one course it belongs to. Its original counts even where only a bucket has it.
    """
    total = 0
    for one in repo.recordings():
        if one.sharing.course_id == course_id:
            elsewhere = 0 if find_original(home, one.sha256) else one.size_bytes
            total += bytes_below(places_of(home, one)) + elsewhere
    return total


def no_course_room(home: Home, course_id: str, more_bytes: int) -> str | None:
    """Say in one sentence why a course cannot take a film of so many bytes; None if it can.

    What its films take is counted anew after some seconds only (`counted_lately`), so that this may be asked for every
    slice of an upload.
    """
    with reading(home) as repo:
        course = repo.courses().get(course_id)
        if course.quota_bytes is None:
            return None
        used = counted_lately((home.root, course_id), lambda: used_bytes(home, repo, course_id))
    return _shortage("This film", more_bytes, course.title, used, course.quota_bytes, "choose the film again")


def expect_course_room(home: Home, course_id: str | None, name: str, parts: Mapping[str, int]) -> None:
    """Go on only if a course has room for a film and all that is made of it.

    Parameters
    ----------
    home
        The home.
    course_id
        The course the film is for; None where there are no courses.
    name
        The film's name.
    parts
        Bytes needed, by what they are needed for.

    Raises
    ------
    InputError
        If it has not; the message says what the film needs, what is left, and what to do.
    """
    if course_id is None:
        return
    with reading(home) as repo:
        course = repo.courses().get(course_id)
        if course.quota_bytes is None:
            return
        used = used_bytes(home, repo, course_id)
    short = _shortage(name, sum(parts.values()), course.title, used, course.quota_bytes, "add it again")
    if short is not None:
        raise InputError(f"{short} Nothing was written.")


def _shortage(name: str, more_bytes: int, title: str, used: int, quota: int, again: str) -> str | None:
    left = quota - used
    if more_bytes <= left:
        return None
    rest = f"{size_words(left)} are left" if left > 0 else "nothing is left"
    return (
        f"{name} needs {size_words(more_bytes)}, and {rest} of the {quota / 1e9:g} GB for the films of {title}: ask "
        f"whoever runs the course, or erase films that are no longer needed, then {again}."
    )
