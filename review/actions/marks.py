"""Saying where a step lies in a recording."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from uuid import uuid4

from review.access import Deed, demand
from review.actions.checks import check_id, check_interval, check_place
from review.domain.errors import EntryRefused
from review.domain.model import Mark, Person, Recording, Side
from review.store.repository import Repository


def place(
    repo: Repository,
    person: Person,
    recording: Recording,
    step_id: str,
    side: Side | None,
    onset_s: float,
    offset_s: float,
    mark_id: str | None = None,
) -> Mark:
    """Mark a step, or move a mark of one's own.

    Parameters
    ----------
    repo
        Open transaction.
    person
        Who marks.
    recording
        Where.
    step_id, side
        What: a step of the recording's checklist and one of its sides, None for a step without sides.
    onset_s, offset_s
        When, in seconds.
    mark_id
        A UUID made by the caller. If a mark has it, that one is moved, or put back if it was removed.

    Returns
    -------
    Mark
        The mark as stored.

    Raises
    ------
    EntryRefused
        If the side does not belong to the step, the times are not in the film, or the id is another recording's.
    NotFound
        If the checklist has no such step.
    NotAllowed
        If the mark is somebody else's.
    """
    demand(person, Deed.MARK, recording)
    check_place(repo, recording, step_id, side)
    interval = check_interval(recording, onset_s, offset_s)
    wanted = Mark(
        id=str(uuid4()) if mark_id is None else check_id(mark_id),
        recording_id=recording.id,
        step_id=step_id,
        side=side,
        interval=interval,
        person_id=person.id,
        at=datetime.now(UTC),
    )
    history = repo.mark_history(wanted.id)
    if history:
        demand(person, Deed.CHANGE_ENTRY, recording, history[-1].person_id)
        wanted = replace(wanted, revision=history[-1].revision + 1)
    repo.put_mark(wanted)
    return wanted


def remove(repo: Repository, person: Person, mark_id: str) -> Mark:
    """Remove a mark of one's own; its history stays.

    Returns
    -------
    Mark
        The revision that says so.

    Raises
    ------
    NotFound
        If there is no such mark.
    NotAllowed
        If it is somebody else's.
    EntryRefused
        If it was removed already.
    """
    last = repo.mark(mark_id)
    demand(person, Deed.CHANGE_ENTRY, repo.recording(last.recording_id), last.person_id)
    if last.removed:
        raise EntryRefused("This mark was removed already. Nothing was changed.")
    gone = replace(last, revision=last.revision + 1, removed=True, at=datetime.now(UTC))
    repo.put_mark(gone)
    return gone
