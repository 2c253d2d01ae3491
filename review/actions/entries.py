"""Entering the result of a test that a film cannot show, on a step whose checklist asks for one."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import Final
from uuid import UUID, uuid5

from review.access import Deed, demand
from review.actions.checks import check_place
from review.domain.checklist import Step
from review.domain.entries import Entry, fields_of, read_entry
from review.domain.errors import EntryRefused, NotFound
from review.domain.model import Person, Recording, Side
from review.domain.text import check_text
from review.store.repository import Repository

_NAMESPACE: Final = UUID("d7f3c0b2-8c1e-4d0e-a6b4-3f3c59d7a1e8")


def enter(repo: Repository, person: Person, recording: Recording, step_id: str, side: Side | None, text: str) -> Entry:
    """Enter a result; a second one for the same place by the same person replaces the first, which stays in history.

    Parameters
    ----------
    repo
        Open transaction.
    person
        Who enters.
    recording
        What attempt.
    step_id, side
        A step of the recording's checklist and one of its sides, None for a step without sides.
    text
        As typed; blanks around it are taken off.

    Returns
    -------
    Entry
        The entry as stored.

    Raises
    ------
    NotFound
        If the checklist has no such step.
    EntryRefused
        If the side does not belong to the step, or the step takes no entry.
    EntryFaulty
        If the text cannot be; it holds all faults.
    """
    demand(person, Deed.ENTER, recording)
    _, step = check_place(repo, recording, step_id, side)
    kind = kind_of(step)
    entry_id = _id_of(person, recording, step_id, side)
    entry = Entry(
        id=entry_id,
        recording_id=recording.id,
        step_id=step_id,
        side=side,
        kind=kind,
        text=check_text(text.strip()),
        fields=fields_of(read_entry(kind, text, side)),
        person_id=person.id,
        at=datetime.now(UTC),
        revision=len(repo.entry_history(entry_id)) + 1,
    )
    repo.put_entry(entry)
    return entry


def withdraw(repo: Repository, person: Person, recording: Recording, step_id: str, side: Side | None) -> Entry:
    """Take back one's own entry of a place; its history stays.

    Returns
    -------
    Entry
        The revision that says so.

    Raises
    ------
    NotFound
        If the person has no entry there.
    """
    demand(person, Deed.ENTER, recording)
    history = repo.entry_history(_id_of(person, recording, step_id, side))
    if not history or history[-1].removed:
        where = " ".join(part for part in (step_id, side) if part)
        raise NotFound(f"{person.code} has entered nothing for {where}. Nothing was changed.")
    gone = replace(history[-1], revision=history[-1].revision + 1, removed=True, at=datetime.now(UTC))
    repo.put_entry(gone)
    return gone


def kind_of(step: Step) -> str:
    """Return the kind of entry that a step takes.

    Raises
    ------
    EntryRefused
        If it takes none.
    """
    if step.entry is None:
        raise EntryRefused(
            f"The step {step.title!r} takes no entry; its checklist names none. Nothing was changed; say it in a "
            "comment instead."
        )
    return step.entry


def _id_of(person: Person, recording: Recording, step_id: str, side: Side | None) -> str:
    """Return the id that the one entry of this person for this place has."""
    return str(uuid5(_NAMESPACE, "\n".join([person.id, recording.id, step_id, side or ""])))
