"""From tracks to values: each measure over the whole film, or over the seconds marked for a step."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace
from functools import cache
from typing import TypeVar

import xarray as xr

from review.domain.checklist import Checklist, Step
from review.domain.measure import Measure
from review.domain.model import Interval, Mark, Side, Value
from review.domain.tracks import VARIABLES, cut
from review.measures import measure, registry

Paced = TypeVar("Paced", xr.Dataset, xr.DataArray)


def measured(
    tracks: xr.Dataset,
    of: Measure,
    recording_id: str,
    step_id: str | None = None,
    step_side: Side | None = None,
) -> tuple[Value, ...]:
    """Run one measure over the tracks given and tie its estimates to the recording and the step.

    The events of a measure go with its first value of the same side, or with the first one when no side fits. A film
    that plays slower than life is measured in the seconds of life; evidence and events are told in the film's.
    """
    return _measured_together(tracks, (of,), recording_id, step_id, step_side)[of.name]


def _measured_together(
    tracks: xr.Dataset,
    measures: Iterable[Measure],
    recording_id: str,
    step_id: str | None = None,
    step_side: Side | None = None,
) -> dict[str, tuple[Value, ...]]:
    """Return the values of measures by name; those that sum up the same trace share it."""
    slow = tracks.attrs["slow_motion"]
    lived = paced(tracks, 1 / slow)
    trace_by = cache(lambda trace: trace(lived))
    return {one.name: _summed_up(trace_by(one.trace), one, slow, recording_id, step_id, step_side) for one in measures}


def _summed_up(
    trace: xr.DataArray, of: Measure, slow: float, recording_id: str, step_id: str | None, step_side: Side | None
) -> tuple[Value, ...]:
    estimates = [replace(found, evidence=_played(found.evidence, slow)) for found in of.summarise(trace)]
    happened = of.events(trace) if of.events else ()
    events = [replace(event, interval=_played([event.interval], slow)[0]) for event in happened]
    values = []
    for place, estimate in enumerate(estimates):
        mine = tuple(event for event in events if _belongs(event.side, estimate.side, place, estimates))
        values.append(Value(recording_id, of.name, of.unit, estimate, step_id, step_side, mine))
    return tuple(values)


def traced(tracks: xr.Dataset, of: Measure) -> xr.DataArray:
    """Return a measure's trace on the clock of the film; its numbers are those of the seconds of life."""
    slow = tracks.attrs["slow_motion"]
    return paced(of.trace(paced(tracks, 1 / slow)), slow)


def paced(data: Paced, factor: float) -> Paced:
    """Return tracks or a trace with all times multiplied by `factor`; measures run on the seconds of life."""
    if factor == 1:
        return data
    return data.assign_coords(time=("time", data["time"].values * factor, data["time"].attrs))


def _played(seconds: Iterable[Interval], slow: float) -> tuple[Interval, ...]:
    return tuple(Interval(part.onset_s * slow, part.offset_s * slow) for part in seconds)


def _belongs(event_side: Side | None, side: Side | None, place: int, estimates: Sequence[object]) -> bool:
    if event_side == side:
        return True
    sides = {getattr(estimate, "side", None) for estimate in estimates}
    return place == 0 and event_side not in sides


def film_values(tracks: xr.Dataset, recording_id: str, names: Collection[str] = ()) -> tuple[Value, ...]:
    """Run every measure over the whole film, or those named only.

    What lies on the disk is read once for all measures that need the same streams, and let go before the next.
    """
    every = {name: of for name, of in registry().items() if not names or name in names}
    groups: dict[frozenset[str], list[Measure]] = {}
    for one in every.values():
        groups.setdefault(frozenset(streams_of(one)), []).append(one)
    found: dict[str, tuple[Value, ...]] = {}
    for streams, group in groups.items():
        read = _read(tracks, streams)
        found |= _measured_together(read.assign_attrs(_of_film(read, group)), group, recording_id)
    return tuple(value for name in every for value in found[name])


def _of_film(tracks: xr.Dataset, measures: Iterable[Measure]) -> dict[str, float]:
    """Return what measures compare a stretch of a film with, as the whole film tells it."""
    told: dict[str, float] = {}
    for of in measures:
        if of.of_film is not None:
            told.update(of.of_film(paced(tracks, 1 / tracks.attrs["slow_motion"])))
    return told


def streams_of(of: Measure) -> set[str]:
    """Return the streams that a measure needs."""
    return {need.stream for need in of.needs}


def step_measures(step: Step) -> tuple[Measure, ...]:
    """Return the measures of a step, those with a target first."""
    return tuple(measure(name) for name in step.measures)


def mark_values(tracks: xr.Dataset, step: Step, mark: Mark) -> tuple[Value, ...]:
    """Run a step's measures over the seconds of a mark."""
    return interval_values(tracks, step, mark.side, mark.interval, mark.recording_id)


def interval_values(
    tracks: xr.Dataset, step: Step, side: Side | None, interval: Interval, recording_id: str
) -> tuple[Value, ...]:
    """Run a step's measures over a stretch of the film; numbers too unsure for the step's range are left out of it."""
    measures = step_measures(step)
    wanted = {stream for of in measures for stream in streams_of(of)}
    seconds = _read(cut(tracks, interval.onset_s, interval.offset_s), wanted)
    if seconds.sizes["time"] == 0:
        return ()
    seconds = seconds.assign_attrs(_of_film(tracks, measures))
    found = _measured_together(seconds, measures, recording_id, step.id, side)
    return tuple(_served(value, step) for one in measures for value in found[one.name])


def _read(seconds: xr.Dataset, streams: Collection[str]) -> xr.Dataset:
    """Return the tracks with these streams read from the disk, once rather than whenever a measure looks at them."""
    names = [name for name, (stream, _, _) in VARIABLES.items() if stream in streams and name in seconds]
    return seconds.assign(dict(seconds[names].compute().data_vars))


def _served(value: Value, step: Step) -> Value:
    target = step.target(value.measure)
    return value if target is None else replace(value, estimate=target.served(value.estimate))


def marked_values(tracks: xr.Dataset, checklist: Checklist, marks: Iterable[Mark]) -> tuple[Value, ...]:
    """Run, for every mark that has a length, the measures of its step over its seconds."""
    closed = [mark for mark in marks if mark.interval.duration_s > 0]
    return tuple(value for mark in closed for value in mark_values(tracks, checklist.step(mark.step_id), mark))
