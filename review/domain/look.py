"""That somebody saw, changed or was refused something."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Look:
    """One line of the trail: who, which recording, about to do what, what of it, when, and whether it was allowed."""

    person_id: str | None
    recording_id: str | None
    deed: str
    what: str
    at: datetime
    allowed: bool
