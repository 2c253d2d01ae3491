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
    announced = [f"{opening} {step.title}" for step in sheet.steps() for opening in ("next is the", "now the")]
    hits = spot(WordStore(home, recording_id).transcript() or (), listened, announced)
    return {step_id: tuple(hit for hit in hits if hit.step_id == step_id) for step_id in listened}
