"""How long recordings are kept: by a setting of the home, or of their course."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from review.domain.model import Recording
from review.store.repository import Repository

TRAIL_DAYS: Final = 730
"""How long a line of the trail is kept: two years."""

_SETTING: Final = "retention_days"


@dataclass(frozen=True, slots=True)
class Dated:
    """A recording with the day on which it is erased, and after how many days that is."""

    recording: Recording
    day: date
    days: int


class Keeping:
    """How long recordings are kept, inside an open transaction."""

    def __init__(self, repo: Repository) -> None:
        self._repo = repo

    def days(self) -> int | None:
        """Return after how many days recordings of no course are erased; None if they stay."""
        found = self._repo.courses().setting(_SETTING)
        return int(found) if found else None

    def set_days(self, days: int | None) -> None:
        """Store after how many days recordings of no course are erased; with None they stay."""
        self._repo.courses().put_setting(_SETTING, "" if days is None else str(days))

    def dated(self) -> list[Dated]:
        """Return all recordings that have a date, those that go first first."""
        by_course = {one.id: one.retention_days for one in self._repo.courses().all()}
        home = self.days()
        if home is None and not any(by_course.values()):
            return []
        found = []
        for one in self._repo.recordings():
            course = one.sharing.course_id
            days = home if course is None else by_course.get(course)
            if days is not None:
                found.append(Dated(one, one.added_at.date() + timedelta(days=days), days))
        return sorted(found, key=lambda dated: (dated.day, dated.recording.id))

    def due(self, today: date) -> list[Dated]:
        """Return the recordings whose day has come, the oldest first."""
        return [one for one in self.dated() if one.day <= today]
