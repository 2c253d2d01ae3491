"""The seconds of a step: which they are for the acting person, and what the measures and the film say of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Any, Final

import xarray as xr

from review.domain.checklist import Checklist, Step
from review.domain.measure import Measure
from review.domain.model import Interval, Mark, Person, Role, Side, Value
from review.domain.tracks import cut
from review.measures import measure
from review.measures.capture_faults import CaptureFault, capture_faults, sound_faults
from review.pipeline.spoken import Hits, heard_findings
from review.pipeline.values import interval_values, traced
from review.report.ear_sets import ENTRY, ear_sets_json
from review.report.spoken import spoken_json
from review.report.tracks import to_cut, version
from review.store.home import Home
from review.store.trackstore import TrackStore
from review.store.words import WordStore

_ROLE_ORDER: Final = {Role.LEARNER: 0, Role.PEER: 1, Role.INSTRUCTOR: 2}


class Seconds:
    """Finds the seconds of a step for the acting person, and what can be said of them.

    Parameters
    ----------
    home, recording_id
        Where the tracks are.
    marks
        Everybody's marks of the recording.
    people
        All people by id.
    person
        Who is looking.
    """

    def __init__(
        self, home: Home, recording_id: str, marks: Iterable[Mark], people: Mapping[str, Person], person: Person
    ) -> None:
        self._home = home
        self._recording_id = recording_id
        self._state = version(home, recording_id)
        self._people = people
        self._marks: dict[tuple[str, Side | None], list[Mark]] = {}
        for mark in sorted(marks, key=lambda mark: self._nearness(mark, person)):
            if mark.interval.duration_s > 0:
                self._marks.setdefault((mark.step_id, mark.side), []).append(mark)

    def _nearness(self, mark: Mark, person: Person) -> tuple[bool, int, str, Interval]:
        order = _ROLE_ORDER[self._people[mark.person_id].role]
        return mark.person_id != person.id, order, mark.person_id, mark.interval

    def marks(self, step_id: str, side: Side | None) -> list[Mark]:
        """Return one's own marks of a step, else the learner's, else anybody's, by onset; only marks with a length."""
        fitting = self._marks.get((step_id, side), [])
        return [mark for mark in fitting if mark.person_id == fitting[0].person_id]

    def mark(self, step: Step, side: Side | None) -> Mark | None:
        """Return that of `marks` which was done last: who repeats a step means the last time."""
        return next(reversed(self.marks(step.id, side)), None)

    def values(self, step: Step, side: Side | None, seconds: Interval) -> tuple[Value, ...]:
        """Return what the step's measures say of these seconds; nothing while nothing was looked at."""
        return _values(self._home, self._recording_id, self._state, step, side, seconds) if self._state else ()

    def heard(self, sheet: Checklist) -> Hits:
        """Return where the findings of a sheet were heard; of a step that was not listened for nothing is in it."""
        hits = heard_findings(self._home, self._recording_id, sheet) if self._state else None
        return {} if hits is None else hits

    def spoken(self, heard: Hits, step: Step, side: Side | None, mark: Mark) -> dict[str, Any] | None:
        """Return what was heard of the step's finding in the seconds of a mark; None where nothing was listened for."""
        if step.id not in heard:
            return None
        place, person_id = (mark.step_id, mark.side), mark.person_id
        following = [
            other.interval.onset_s
            for others in self._marks.values()
            for other in others
            if other.person_id == person_id and (other.step_id, other.side) != place
        ]
        return spoken_json(heard[step.id], side, mark.interval, following)

    def ear_sets(self, step: Step) -> dict[str, str] | None:
        """Return whether the ears were whispered different sets; None before both are marked and listened to."""
        if step.entry != ENTRY or not self._state:
            return None
        right, left = self.mark(step, "right"), self.mark(step, "left")
        words = None if right is None or left is None else WordStore(self._home, self._recording_id).transcript()
        if words is None or right is None or left is None:
            return None
        return ear_sets_json(words, right.interval, left.interval)

    def measured(self, step: Step) -> bool:
        """Tell whether the step's measures have something to say as soon as it is marked."""
        return bool(self._state and step.measures)

    def trace(self, of: Measure, seconds: Interval) -> xr.DataArray | None:
        """Return a measure's trace over these seconds alone; None while nothing was looked at."""
        return _trace(self._home, self._recording_id, self._state, of.name, seconds) if self._state else None

    def film_faults(self, seconds: Interval, view: tuple[str, ...]) -> list[dict[str, str]]:
        """Return what is wrong with these seconds of the film, and what to do next time."""
        return _told(_faults(self._home, self._recording_id, self._state, seconds, view) if self._state else ())

    def sound_faults(self) -> list[dict[str, str]]:
        """Return what is wrong with the sound of the whole film, and what to do next time."""
        return _told(_sound_faults(self._home, self._recording_id, self._state) if self._state else ())

    def whose(self, mark: Mark) -> str:
        """Return the code of the person who set a mark."""
        return self._people[mark.person_id].code


def _told(faults: Iterable[CaptureFault]) -> list[dict[str, str]]:
    return [{"what": fault.what, "advice": fault.advice} for fault in faults]


@lru_cache(maxsize=2048)
def _values(
    home: Home, recording_id: str, state: str, step: Step, side: Side | None, seconds: Interval
) -> tuple[Value, ...]:
    return interval_values(to_cut(home, recording_id, state), step, side, seconds, recording_id)


@lru_cache(maxsize=512)
def _trace(home: Home, recording_id: str, state: str, name: str, seconds: Interval) -> xr.DataArray | None:
    part = cut(to_cut(home, recording_id, state), seconds.onset_s, seconds.offset_s)
    return traced(part, measure(name)) if part.sizes["time"] > 1 else None


@lru_cache(maxsize=2048)
def _faults(
    home: Home, recording_id: str, state: str, seconds: Interval, view: tuple[str, ...]
) -> tuple[CaptureFault, ...]:
    part = cut(to_cut(home, recording_id, state), seconds.onset_s, seconds.offset_s)
    return capture_faults(part, view) if part.sizes["time"] > 1 else ()


@lru_cache(maxsize=64)
def _sound_faults(home: Home, recording_id: str, state: str) -> tuple[CaptureFault, ...]:
    return tuple(sound_faults(TrackStore(home, recording_id).open()))
