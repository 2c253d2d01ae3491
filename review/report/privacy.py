"""The page Privacy: who can see one's recordings and why, what was agreed to, who looked, dates and receipts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime
from typing import Any, Final

from review.access import Deed, allowed, may, reasons
from review.domain.model import Person, Recording
from review.report.consents import consent_words, title_of
from review.report.receipts import receipts
from review.store.database import Database
from review.store.home import Home
from review.store.keeping import TRAIL_DAYS, Dated, Keeping
from review.store.repository import Repository, reading

WARN_DAYS: Final = 14
_MOST: Final = 40
_MOST_LOOKS: Final = 200


def privacy(home: Home | Database, person: Person) -> dict[str, Any]:
    """Return what the page shows to one person, as plain JSON values.

    Returns
    -------
    dict
        Keys ``recordings`` (each with ``id, title, consent, withdrawn, erased_on, who, mine``), ``more`` (how many are
        not listed), ``signing_in``, ``days`` (after how many days a home without accounts erases), ``may_set_days``,
        ``trail_days``, ``receipts``.
    """
    with reading(home) as repo:
        people, courses = repo.people(), repo.courses()
        mine = [one for one in repo.recordings() if may(person, Deed.NOTE_CONSENT, one)]
        mine.sort(key=lambda one: (one.added_by != person.id, -one.added_at.timestamp()))
        days = erased_on(repo)
        told = {
            "recordings": [_recording(one, person, people, days) for one in mine[:_MOST]],
            "more": max(0, len(mine) - _MOST),
            "signing_in": courses.signing_in(),
            "days": Keeping(repo).days(),
            "may_set_days": not courses.signing_in() and may(person, Deed.SET_RETENTION),
            "trail_days": TRAIL_DAYS,
        }
    return {**told, "receipts": receipts(home, person)}


def dates(home: Home | Database, person: Person) -> tuple[int | None, list[Dated]]:
    """Return after how many days the recordings of no course are erased, and what is due of those one may erase."""
    with reading(home) as repo:
        keeping = Keeping(repo)
        waiting = keeping.due(datetime.now(UTC).date())
        return keeping.days(), [one for one in waiting if may(person, Deed.ERASE_RECORDING, one.recording)]


def erased_on(repo: Repository) -> dict[str, date]:
    """Return the day on which each recording that has one is erased, by the recording's id."""
    return {one.recording.id: one.day for one in Keeping(repo).dated()}


def soon_erased(repo: Repository) -> dict[str, str]:
    """Say of each recording that is erased within 14 days when, by the recording's id."""
    today = datetime.now(UTC).date()
    return {key: f"erased on {day}" for key, day in erased_on(repo).items() if (day - today).days <= WARN_DAYS}


def _recording(
    recording: Recording, person: Person, people: Sequence[Person], days: Mapping[str, date]
) -> dict[str, Any]:
    day = days.get(recording.id)
    return {
        "id": recording.id,
        "title": title_of(recording),
        "mine": recording.added_by == person.id,
        "consent": consent_words(recording.sharing.consent),
        "withdrawn": recording.sharing.withdrawn,
        "erased_on": day.isoformat() if day else "",
        "who": who_sees(recording, people),
    }


def who_sees(recording: Recording, people: Sequence[Person]) -> list[dict[str, Any]]:
    """Return who may see or watch a recording just now, and why: as the policy itself answers for each of them.

    Returns
    -------
    list of dict
        Keys ``codes`` and ``why``; one for each reason, the same people may be in several.
    """
    found: dict[str, list[str]] = {}
    for one in people:
        for why in dict.fromkeys((*reasons(one, Deed.SEE, recording), *reasons(one, Deed.WATCH, recording))):
            found.setdefault(why, []).append(one.code)
    return [{"why": why, "codes": sorted(codes)} for why, codes in found.items()]


def looks_at(home: Home | Database, person: Person, recording_id: str) -> list[dict[str, Any]]:
    """Return the trail of one recording, newest first, for those who may see who looked at it.

    Returns
    -------
    list of dict
        Keys ``at, who, deed, what, allowed``; at most 200.
    """
    with reading(home) as repo:
        recording = allowed(repo, person, Deed.SEE_LOOKS, recording_id)
        codes = {one.id: one.code for one in repo.people()}
        found = repo.looks().of(recording.id)
    return [
        {
            "at": one.at.isoformat(timespec="minutes"),
            "who": codes.get(one.person_id or "", "nobody known"),
            "deed": one.deed,
            "what": one.what,
            "allowed": one.allowed,
        }
        for one in reversed(found[-_MOST_LOOKS:])
    ]
