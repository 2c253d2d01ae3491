"""The findings of a sheet heard in a recording."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Final

from review.domain.checklist import Checklist
from review.domain.phrases import Run
from review.domain.spoken import Hit
from review.speech.twice import spot_twice
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
    store = WordStore(home, recording_id)
    hits = spot_twice(store.transcript() or (), store.again(), listened, announcements(sheet))
    return {step_id: tuple(hit for hit in hits if hit.step_id == step_id) for step_id in listened}


@lru_cache(maxsize=64)
def hints(sheet: Checklist) -> str:
    """Return what is likely to be said, for the second listening: of each step the shortest phrase."""
    shortest = (min(map(_spoken, step.listened), key=len) for step in sheet.steps() if step.listened)
    return ". ".join(dict.fromkeys(shortest))


def _spoken(run: Run) -> str:
    return " ".join(part if isinstance(part, str) else part.expected or _USUAL[part.kind] for part in run)


_USUAL: Final = {"side": "left", "grade": "two", "number": "twenty"}


def announcements(sheet: Checklist) -> tuple[str, ...]:
    """Return what the steps of a sheet are announced by: their titles, without the part and the note beside them.

    A title that is a step's finding as well announces nothing.
    """
    titles = (step.title.rpartition(": ")[2].partition(" (")[0] for step in sheet.steps())
    stated = {" ".join(map(str, run)).lower() for step in sheet.steps() for run in step.listened}
    return tuple(dict.fromkeys(title for title in titles if title.lower() not in stated))
