"""The findings of a sheet heard in a recording."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from review.domain.checklist import Checklist
from review.domain.spoken import Hit
from review.speech.phrases import spot
from review.store.home import Home
from review.store.words import WordStore

Hits = Mapping[str, tuple[Hit, ...]]
"""Where findings were heard, by step."""


def heard_findings(home: Home, recording_id: str, sheet: Checklist) -> Hits | None:
    """Return where the findings of a sheet were heard in a recording; None where nothing was listened to.

    They are sought anew whenever the words or the sheet changed, and kept in memory until then.
    """
    store = WordStore(home, recording_id)
    state = store.version()
    return _found(home, recording_id, state, sheet) if state else None


@lru_cache(maxsize=64)
def _found(home: Home, recording_id: str, state: str, sheet: Checklist) -> Hits:
    listened = {step.id: step.listened for step in sheet.steps() if step.listened}
    hits = spot(WordStore(home, recording_id).transcript() or (), listened, announcements(sheet))
    return {step_id: tuple(hit for hit in hits if hit.step_id == step_id) for step_id in listened}


def announcements(sheet: Checklist) -> tuple[str, ...]:
    """Return what the steps of a sheet are announced by: their titles, without the part and the note beside them.

    A title that is a step's finding as well announces nothing.
    """
    titles = (step.title.rpartition(": ")[2].partition(" (")[0] for step in sheet.steps())
    stated = {" ".join(map(str, run)).lower() for step in sheet.steps() for run in step.listened}
    return tuple(dict.fromkeys(title for title in titles if title.lower() not in stated))
