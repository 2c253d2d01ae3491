"""Entries as they are shown: in words, with what was typed and what was read from it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from review.access import Deed, allowed
from review.domain.checklist import Step
from review.domain.entries import KINDS, Entry, fields_of, read_entry, words_of
from review.domain.errors import EntryFaulty
from review.domain.model import Person, Recording, Side
from review.store.home import Home
from review.store.repository import Repository, reading


def field_of(step: Step) -> dict[str, Any] | None:
    """Return what a step's field shows, as plain JSON values; None for a step that takes no entry."""
    if step.entry is None:
        return None
    kind = KINDS[step.entry]
    return {"kind": kind.name, "title": kind.title, "example": kind.example, "scales": list(kind.scales)}


def shown(entry: Entry, people: Mapping[str, Person]) -> dict[str, Any]:
    """Return an entry as plain JSON values: place, who, text as typed, words, and what was read from it."""
    return {
        "id": entry.id,
        "step": entry.step_id,
        "side": entry.side,
        "kind": entry.kind,
        "text": entry.text,
        "words": words_of(entry.kind, entry.fields, entry.side),
        "fields": dict(entry.fields),
        "person": people[entry.person_id].code,
        "role": str(people[entry.person_id].role),
    }


def entries_of(home: Home, person: Person, recording: Recording) -> list[dict[str, Any]]:
    """Return the current entries of a recording, each as `shown` gives it."""
    with reading(home) as repo:
        recording = allowed(repo, person, Deed.SEE, recording.id)
        people = {one.id: one for one in repo.people()}
        return [shown(entry, people) for entry in repo.entries(recording.id)]


def preview(
    home: Home, person: Person, recording_id: str, step_id: str, side: Side | None, text: str
) -> dict[str, Any]:
    """Say what a text would be read as on a step, without storing anything.

    Returns
    -------
    dict
        ``words`` (empty if it cannot be read) and ``faults``, a list of sentences.

    Raises
    ------
    NotFound
        If the recording's checklist has no such step.
    """
    with reading(home) as repo:
        recording = allowed(repo, person, Deed.SEE, recording_id)
        kind = _step(repo, recording, step_id).entry
    if kind is None:
        return {"words": "", "faults": ["This step takes no entry."]}
    try:
        return {"words": words_of(kind, fields_of(read_entry(kind, text, side)), side), "faults": []}
    except EntryFaulty as error:
        return {"words": "", "faults": list(error.faults)}


def _step(repo: Repository, recording: Recording, step_id: str) -> Step:
    return repo.checklist(recording.checklist_id or "", recording.checklist_version).step(step_id)
