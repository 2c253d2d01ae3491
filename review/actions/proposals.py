"""Refusing a proposal, and taking that back; who takes a proposal marks its step (`review.actions.marks`)."""

from __future__ import annotations

from datetime import UTC, datetime

from review.access import Deed, demand
from review.actions.checks import check_id, check_interval, check_place
from review.domain.errors import EntryRefused
from review.domain.model import Person, Recording, Side
from review.domain.proposal import Refusal
from review.store.repository import Repository


def refuse(
    repo: Repository,
    person: Person,
    recording: Recording,
    refusal_id: str,
    step_id: str,
    side: Side | None,
    onset_s: float,
    offset_s: float,
) -> Refusal:
    """Note that a person does not want a step proposed in a stretch of a recording; it holds for later proposals too.

    Parameters
    ----------
    repo
        Open transaction.
    person
        Who refuses.
    recording
        Where.
    refusal_id
        A UUID made by the caller.
    step_id, side
        A step of the recording's checklist and one of its sides, None for a step without sides.
    onset_s, offset_s
        When it was proposed, in seconds.

    Raises
    ------
    EntryRefused
        If the side does not belong to the step, the times are not in the film, or the id is another recording's.
    NotFound
        If the checklist has no such step.
    NotAllowed
        If the person may not mark the recording, or the refusal is somebody else's.
    """
    demand(person, Deed.MARK, recording)
    check_place(repo, recording, step_id, side)
    interval = check_interval(recording, onset_s, offset_s)
    name = check_id(refusal_id)
    known = repo.refusals().find(name)
    if known is not None:
        demand(person, Deed.CHANGE_ENTRY, repo.recording(known.recording_id), known.person_id)
        if known.recording_id != recording.id:
            raise EntryRefused("This refusal belongs to another recording. Nothing was changed; reload the page.")
    refusal = Refusal(name, recording.id, step_id, side, interval, person.id, datetime.now(UTC))
    repo.refusals().put(refusal)
    return refusal


def take_back(repo: Repository, person: Person, refusal_id: str) -> Refusal:
    """Take back a refusal of one's own, so that what was refused is proposed again; return what it was.

    Raises
    ------
    NotFound
        If there is no such refusal.
    NotAllowed
        If it is somebody else's.
    """
    known = repo.refusals().get(refusal_id)
    demand(person, Deed.CHANGE_ENTRY, repo.recording(known.recording_id), known.person_id)
    repo.refusals().drop(known.id)
    return known
