"""An entry as it is kept: what a person typed in on a step, and what was read from it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from review.domain.model import Side


@dataclass(frozen=True, slots=True)
class Entry:
    """The result of a test, typed in on a step by a person.

    `kind` is the name of one of `review.domain.entries.KINDS`, `text` is as typed, and `fields` is what was read from
    it, under the names of the kind's result. `revision` counts its changes from 1.
    """

    id: str
    recording_id: str
    step_id: str
    side: Side | None
    kind: str
    text: str
    fields: Mapping[str, Any]
    person_id: str
    at: datetime
    revision: int = 1
    removed: bool = False
