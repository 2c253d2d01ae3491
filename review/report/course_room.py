"""How much the films of a course take, and may take, for those who run it."""

from __future__ import annotations

from typing import Any

from review.access import Deed, demand
from review.domain.model import Person
from review.store.course_room import used_bytes
from review.store.home import Home
from review.store.repository import Repository


def course_room(home: Home, repo: Repository, person: Person, course_id: str) -> dict[str, Any]:
    """Return what the films of a course take and its limit, for those who run it.

    Returns
    -------
    dict
        Keys ``used_bytes``, ``quota_bytes`` (None without a limit) and ``words``.
    """
    demand(person, Deed.RUN_COURSE, course=course_id)
    used, quota = used_bytes(home, repo, course_id), repo.courses().get(course_id).quota_bytes
    return {"used_bytes": used, "quota_bytes": quota, "words": room_words(used, quota)}


def room_words(used_bytes: int, quota_bytes: int | None) -> str:
    """Say in words how much of a limit is used; a gigabyte is 1e9 bytes.

    Examples
    --------
    >>> room_words(12_345_678_901, 50_000_000_000)
    '12.3 of 50 GB used'
    >>> room_words(12_345_678_901, None)
    '12.3 GB used; no limit is set'
    """
    used = f"{used_bytes / 1e9:.1f}"
    return f"{used} GB used; no limit is set" if quota_bytes is None else f"{used} of {quota_bytes / 1e9:g} GB used"


def gigabytes(size: int | None) -> str:
    """Write bytes as a number of gigabytes, to the byte, as a field takes it back; nothing for None.

    Examples
    --------
    >>> gigabytes(50_000_000_000), gigabytes(12_345_678_901), gigabytes(None)
    ('50', '12.345678901', '')
    """
    return "" if size is None else f"{size / 1e9:.9f}".rstrip("0").rstrip(".")
