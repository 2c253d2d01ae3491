"""Handing an attempt in, asking a peer to grade it, and taking either back."""

from __future__ import annotations

from datetime import UTC, datetime

from review.access import Deed, allowed
from review.actions.assigning import draw_second
from review.domain.errors import EntryRefused
from review.domain.model import Person, Recording
from review.domain.sharing import Audience, Purpose, Request
from review.store.database import Database
from review.store.home import Home
from review.store.repository import Repository, repository


def hand_in(home: Home | Database, person: Person, recording_id: str) -> Recording:
    """Hand an attempt in to the instructors of its course; handing in again changes nothing.

    Where the course wants a second rater for it, that one is drawn at once.

    Raises
    ------
    NotAllowed
        If the attempt is not the person's own.
    EntryRefused
        If the recording belongs to no course, or the examined person did not agree that instructors see it.
    """
    with repository(home) as repo:
        recording, course_id = _own(repo, person, recording_id)
        _expect_consent(recording, Audience.INSTRUCTORS)
        if recording.sharing.handed_in_at is None:
            at = datetime.now(UTC)
            repo.sharings().put_in_course(recording.id, course_id, at)
            repo.looks().note(person.id, recording.id, str(Deed.SHARE), "handed in", True, at)
            draw_second(repo, person, repo.recording(recording.id))
        return repo.recording(recording.id)


def take_back(home: Home | Database, person: Person, recording_id: str) -> Recording:
    """Take an attempt back that was handed in; what instructors said of it stays."""
    with repository(home) as repo:
        recording, course_id = _own(repo, person, recording_id)
        repo.sharings().put_in_course(recording.id, course_id)
        repo.looks().note(person.id, recording.id, str(Deed.SHARE), "taken back", True, datetime.now(UTC))
        return repo.recording(recording.id)


def ask_peer(home: Home | Database, person: Person, recording_id: str, code: str) -> Recording:
    """Ask a fellow learner of the course, by code, to grade and comment on this one attempt.

    Raises
    ------
    NotAllowed
        If the attempt is not the person's own.
    EntryRefused
        If no other learner of the course has this code, or the examined person did not agree that peers see it.
    """
    with repository(home) as repo:
        recording, course_id = _own(repo, person, recording_id)
        _expect_consent(recording, Audience.PEERS)
        peer = _fellow(repo, person, course_id, code)
        at = datetime.now(UTC)
        repo.sharings().put_request(Request(recording.id, peer.id, Purpose.PEER, person.id, at))
        repo.looks().note(person.id, recording.id, str(Deed.SHARE), f"asked {peer.code}", True, at)
        return repo.recording(recording.id)


def take_peer_back(home: Home | Database, person: Person, recording_id: str, code: str) -> Recording:
    """Have a peer no longer be asked; what the peer said stays."""
    with repository(home) as repo:
        recording, _ = _own(repo, person, recording_id)
        asked = {one.person_id for one in recording.sharing.requests if one.purpose is Purpose.PEER}
        found = [one for one in repo.people() if one.id in asked and one.code == code.strip().upper()]
        if not found:
            raise EntryRefused(f"{code[:40]!r} is not asked as a peer. Nothing was changed; reload and look again.")
        repo.sharings().drop_request(recording.id, found[0].id)
        what = f"no longer asks {found[0].code}"
        repo.looks().note(person.id, recording.id, str(Deed.SHARE), what, True, datetime.now(UTC))
        return repo.recording(recording.id)


def _own(repo: Repository, person: Person, recording_id: str) -> tuple[Recording, str]:
    recording = allowed(repo, person, Deed.SHARE, recording_id)
    course_id = recording.sharing.course_id
    if course_id is None:
        raise EntryRefused(
            "This recording belongs to no course: on a machine without accounts whoever is at it sees every attempt. "
            "Nothing was changed."
        )
    return recording, course_id


def _expect_consent(recording: Recording, audience: Audience) -> None:
    if recording.sharing.covers(audience, datetime.now(UTC).date()):
        return
    consent = recording.sharing.consent
    if consent is None:
        why = "what the examined person agreed to is not noted yet"
    elif consent.covers(audience, consent.until or datetime.now(UTC).date()):
        why = f"the consent ended on {consent.until}"
    elif audience in consent.audiences:
        why = f"of bystanders it is noted: {consent.bystanders.words}"
    else:
        why = f"the examined person did not agree that {audience.words} see it"
    raise EntryRefused(
        f"This film cannot be shown to {audience.words}: {why}. Nothing was changed; note consent first."
    )


def _fellow(repo: Repository, person: Person, course_id: str, code: str) -> Person:
    """Return the other learner of a course with a code; that somebody has it elsewhere is not told."""
    wanted = code.strip().upper()
    for one in repo.people():
        role = (one.courses or {}).get(course_id)
        if (one.code, role) == (wanted, "learner") and one.id != person.id:
            return one
    raise EntryRefused(
        f"{wanted[:40]!r} is no other learner of this course. Nothing was changed; ask your peer for the code."
    )
