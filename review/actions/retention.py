"""The date on which recordings are erased: set for a home, or by a course for itself, and kept by a job."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Final

from review.access import Deed, demand
from review.actions.erasing import erase_for
from review.domain.errors import EntryRefused, InputError, NotFound
from review.domain.model import Person, Recording
from review.domain.receipt import Receipt
from review.store.home import Home
from review.store.keeping import TRAIL_DAYS, Dated, Keeping
from review.store.repository import reading, repository

_DAYS: Final = (1, 3650)


def set_days(home: Home, person: Person, days: int | None) -> None:
    """Set after how many days the recordings of a home without accounts are erased; with None they stay.

    Raises
    ------
    EntryRefused
        If it is no number of days from 1 to 3650, or people sign in: then each course has a number of its own.
    """
    demand(person, Deed.SET_RETENTION)
    low, high = _DAYS
    if days is not None and not low <= days <= high:
        raise EntryRefused(f"{days} days came; expected {low} to {high}, or off. Nothing was changed.")
    with repository(home) as repo:
        if repo.courses().signing_in():
            raise EntryRefused(
                "People sign in here, so each course says itself when its recordings are erased: "
                "runthrough course set --retention-days DAYS. Nothing was changed."
            )
        Keeping(repo).set_days(days)
        repo.looks().note(person.id, None, Deed.SET_RETENTION, f"{days or 'off'}", True, datetime.now(UTC))


def due(home: Home, now: datetime | None = None) -> list[Dated]:
    """Return the recordings whose day has come, the oldest first."""
    with reading(home) as repo:
        return Keeping(repo).due((now or datetime.now(UTC)).date())


def erase_due(home: Home, person: Person) -> list[Receipt]:
    """As `keep_dates`, for a person who has it done now.

    Raises
    ------
    NotAllowed
        If the person may not set when recordings are erased.
    """
    demand(person, Deed.SET_RETENTION)
    return keep_dates(home)


def keep_dates(
    home: Home, now: datetime | None = None, tell: Callable[[Recording, Receipt], None] | None = None
) -> list[Receipt]:
    """Erase what is due, and what is older than it should be in the trail; return the receipts.

    Each recording is erased by itself: what an interruption leaves is done the next time.
    """
    moment = now or datetime.now(UTC)
    made = []
    for one in due(home, moment):
        try:
            receipt = erase_for(home, one.recording, f"retention: {one.days} days after it was added", None)
        except NotFound:  # somebody erased it just now
            continue
        made.append(receipt)
        if tell is not None:
            tell(one.recording, receipt)
    with repository(home) as repo:
        repo.looks().drop_before(moment - timedelta(days=TRAIL_DAYS))
    return made


def keep_dates_quietly(home: Home) -> None:
    """As `keep_dates`, for a process that works by itself: a fault is told to its log and tried again later."""
    try:
        keep_dates(home, tell=lambda recording, receipt: print(f"{recording.id}: {receipt.why}", flush=True))
    except InputError as fault:
        print(f"retention: {fault}", flush=True)
