"""Asking instructors to grade attempts: by name, or at random and evenly; a share of attempts gets a second one.

The second one is drawn when the attempt is handed in, or else when a first one is asked.

What is drawn is drawn from SHA-256 sums of ids, so that anybody can draw it again and nobody can draw until it suits:

- whether an attempt gets a second rater: the first 8 bytes of SHA-256 over ``second``, a line break and the recording's
  id, as a number between 0 and 1, lie below the course's share;
- who that is: of the instructors who are not the first rater, the one with the lowest SHA-256 over ``second rater``,
  the recording's id and the person's id, parted by line breaks;
- who is asked at random: of those with the fewest attempts asked of them, the one with the lowest SHA-256 over
  ``first rater`` and both ids; not the attempt's second rater.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import UTC, datetime
from hashlib import sha256

from review.access import Deed, demand, teaches
from review.domain.errors import EntryRefused, NotFound
from review.domain.model import Person, Recording
from review.domain.sharing import Purpose, Request
from review.store.repository import Repository


def graders_of(repo: Repository, recording: Recording) -> tuple[Person, ...]:
    """Return who can be asked to grade an attempt: who teaches its course, whose own it is not."""
    course_id = recording.sharing.course_id
    return tuple(one for one in repo.people() if teaches(one, course_id) and one.id != recording.added_by)


def gets_second(recording_id: str, share: float) -> bool:
    """Tell whether an attempt is among the share that a second instructor grades as well."""
    return int.from_bytes(_sum("second", recording_id)[:8], "big") / 2**64 < share


def second_for(recording_id: str, first: Person | None, instructors: Sequence[Person]) -> Person | None:
    """Return the second rater that is drawn for an attempt; None where there is nobody but a first one."""
    others = [one for one in instructors if first is None or one.id != first.id] if len(instructors) > 1 else []
    return min(others, key=lambda one: _sum("second rater", recording_id, one.id), default=None)


def draw_second(repo: Repository, person: Person, recording: Recording) -> Request | None:
    """Ask the second rater of an attempt that was just handed in, if its course wants one for it.

    Drawn before anybody looks at the class, so that what others gave stays covered for that rater. Whoever is asked as
    the first later is somebody else; if it is the second one by name, another second one is drawn then.

    Raises
    ------
    NotAllowed
        If the person may not hand the recording in.
    """
    demand(person, Deed.SHARE, recording)
    requests = recording.sharing.requests
    if not gets_second(recording.id, _share(repo, recording)) or any(one.purpose is Purpose.SECOND for one in requests):
        return None
    asked = {one.person_id for one in requests if one.purpose is Purpose.FIRST}
    first = next((one for one in repo.people() if one.id in asked), None)
    second = second_for(recording.id, first, graders_of(repo, recording))
    if second is None:
        return None
    request = Request(recording.id, second.id, Purpose.SECOND, person.id, datetime.now(UTC))
    repo.sharings().put_request(request)
    return request


def assign(repo: Repository, person: Person, recording_ids: Sequence[str], code: str | None) -> list[Request]:
    """Ask an instructor to grade attempts as the first one; with no code whoever was asked least, drawn at random.

    An instructor who was asked before and gave no grade yet is not asked any more; one who gave some still is.

    Returns
    -------
    list of Request
        All that were made, second raters' too.

    Raises
    ------
    NotAllowed
        If the person may not ask for one of the attempts; nothing is changed then.
    EntryRefused
        If the code is no instructor's of the course, or the learner's own.
    """
    recordings = [repo.recording(name) for name in dict.fromkeys(recording_ids)]
    for recording in recordings:
        demand(person, Deed.ASSIGN, recording)
    asked = _asked(repo, {one.id for one in recordings})
    made: list[Request] = []
    for recording in recordings:
        known = graders_of(repo, recording)
        first = _drawn(recording, known, asked) if code is None else _named(known, code)
        made += _ask(repo, person, recording, first, second_for(recording.id, first, known))
        asked[first.id] += 1
    return made


def _share(repo: Repository, recording: Recording) -> float:
    """Return for which share of its attempts a recording's course wants a second rater; without a course for none."""
    course_id = recording.sharing.course_id
    return 0.0 if course_id is None else repo.courses().get(course_id).second_share


def _asked(repo: Repository, but: set[str]) -> Counter[str]:
    """Count of how many attempts each instructor is asked to grade, some left out."""
    return Counter(
        request.person_id
        for one in repo.recordings()
        if one.id not in but
        for request in one.sharing.requests
        if request.purpose is not Purpose.PEER
    )


def _named(instructors: Sequence[Person], code: str) -> Person:
    for one in instructors:
        if one.code == code.strip().upper():
            return one
    raise NotFound.among("instructor to ask", code, [one.code for one in instructors])


def _drawn(recording: Recording, instructors: Sequence[Person], asked: Counter[str]) -> Person:
    if not instructors:
        raise EntryRefused("There is no instructor to ask. Nothing was changed; invite one to the course first.")
    second = {one.person_id for one in recording.sharing.requests if one.purpose is Purpose.SECOND}
    open_ones = [one for one in instructors if one.id not in second] or instructors
    return min(open_ones, key=lambda one: (asked[one.id], _sum("first rater", recording.id, one.id)))


def _ask(repo: Repository, person: Person, recording: Recording, first: Person, second: Person | None) -> list[Request]:
    """Store who is asked; a second rater of before stays unless that is the new first one."""
    at, graders = datetime.now(UTC), {one.person_id for one in repo.grades(recording.id)}
    made = [Request(recording.id, first.id, Purpose.FIRST, person.id, at)]
    others = [one for one in recording.sharing.requests if one.person_id != first.id]
    for one in others:
        if one.purpose is Purpose.FIRST and one.person_id not in graders:
            repo.sharings().drop_request(recording.id, one.person_id)
    seconded = any(one.purpose is Purpose.SECOND for one in others)
    if second is not None and not seconded and gets_second(recording.id, _share(repo, recording)):
        made.append(Request(recording.id, second.id, Purpose.SECOND, person.id, at))
    for request in made:
        repo.sharings().put_request(request)
    return made


def _sum(*parts: str) -> bytes:
    return sha256("\n".join(parts).encode()).digest()
