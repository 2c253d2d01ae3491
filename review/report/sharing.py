"""Whom an attempt is shown to, as its learner sees it."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from review.access import Deed, allowed, may
from review.domain.model import Person, Recording
from review.domain.sharing import Audience, Purpose, Sharing
from review.domain.wording import counted
from review.report.consents import consent_words
from review.store.database import Database
from review.store.home import Home
from review.store.repository import Repository, reading


def sharing_told(home: Home | Database, person: Person, recording_id: str) -> dict[str, Any]:
    """Return whom an attempt is shown to, for whoever may change that.

    Returns
    -------
    dict
        ``name`` of the recording; ``course``: its title, or None; ``handed_in``: ISO time, or None; ``peers``: codes of
        those who are asked; ``agreed``: by audience, its ``words`` and ``covers``, whether the film may be shown to it
        today.
    """
    with reading(home) as repo:
        recording = allowed(repo, person, Deed.SHARE, recording_id)
        sharing = recording.sharing
        asked = {one.person_id for one in sharing.requests if one.purpose is Purpose.PEER}
        peers = [one.code for one in repo.people() if one.id in asked]
        title = repo.courses().get(sharing.course_id).title if sharing.course_id else None
    today = datetime.now(UTC).date()
    return {
        "course": title,
        "name": recording.name,
        "handed_in": sharing.handed_in_at.isoformat(timespec="seconds") if sharing.handed_in_at else None,
        "peers": peers,
        "agreed": {
            str(one): {"words": one.words, "covers": sharing.covers(one, today)}
            for one in (Audience.INSTRUCTORS, Audience.PEERS)
        },
    }


def own_courses(repo: Repository, person: Person) -> list[dict[str, str]]:
    """Return the courses that a person can add recordings to, by title: ``id`` and ``title``; none without accounts."""
    if not person.courses:
        return []
    return [{"id": one.id, "title": one.title} for one in repo.courses().all() if one.id in person.courses]


def agreed_and_shared(person: Person, recording: Recording) -> dict[str, str | None]:
    """Return in words what the examined person of a recording agreed to, and whom it was shown to.

    Returns
    -------
    dict
        ``consent`` and ``shared``; None for what the person may not change, or where nobody signs in.
    """
    consent = consent_words(recording.sharing.consent) if may(person, Deed.NOTE_CONSENT, recording) else None
    shares = recording.sharing.course_id is not None and may(person, Deed.SHARE, recording)
    return {"consent": consent, "shared": sharing_words(recording.sharing) if shares else None}


def shared(repo: Repository, person: Person) -> dict[str, dict[str, str]]:
    """Return ``{"shared": words}`` for each recording whose sharing a person may change, by its id.

    On a machine without accounts there are none: whoever is at it sees every attempt.
    """
    if person.courses is None:
        return {}
    mine = [one for one in repo.recordings() if may(person, Deed.SHARE, one) and one.sharing.course_id]
    return {one.id: {"shared": sharing_words(one.sharing)} for one in mine}


def sharing_words(sharing: Sharing) -> str:
    """Say in a few words whom an attempt was shown to.

    Examples
    --------
    >>> sharing_words(Sharing(course_id="balance"))
    'not handed in'
    """
    handed = "handed in" if sharing.handed_in_at else "not handed in"
    asked = sum(one.purpose is Purpose.PEER for one in sharing.requests)
    return f"{handed}, {counted(asked, 'peer')} asked" if asked else handed
