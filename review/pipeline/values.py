"""From tracks to values: each measure over the whole film, or over the seconds marked for a step."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
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
    slow = tracks.attrs["slow_motion"]
    trace = of.trace(paced(tracks, 1 / slow))
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


def film_values(tracks: xr.Dataset, recording_id: str) -> tuple[Value, ...]:
    """Run every measure over the whole film."""
    return film_values_of(lambda streams: tracks, recording_id)


def film_values_of(opened: Callable[[set[str]], xr.Dataset], recording_id: str) -> tuple[Value, ...]:
    """Run every measure over the whole film, each on tracks opened anew, so that memory holds those of one only.

    Parameters
    ----------
    opened
        Gives the tracks, those of the streams named already read.
    """
    every = registry().values()
    return tuple(value for one in every for value in measured(opened(streams_of(one)), one, recording_id))


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
    seconds = _read(cut(tracks, interval.onset_s, interval.offset_s), measures)
    if seconds.sizes["time"] == 0:
        return ()
    found = [measured(seconds, one, recording_id, step.id, side) for one in measures]
    return tuple(_served(value, step) for values in found for value in values)


def _read(seconds: xr.Dataset, measures: Iterable[Measure]) -> xr.Dataset:
    """Read what measures need from the disk once, rather than anew whenever one of them looks at it."""
    wanted = {stream for of in measures for stream in streams_of(of)}
    names = [name for name, (stream, _, _) in VARIABLES.items() if stream in wanted and name in seconds]
    return seconds.assign(dict(seconds[names].load().data_vars))


def _served(value: Value, step: Step) -> Value:
    target = step.target(value.measure)
    return value if target is None else replace(value, estimate=target.served(value.estimate))


def marked_values(tracks: xr.Dataset, checklist: Checklist, marks: Iterable[Mark]) -> tuple[Value, ...]:
    """Run, for every mark that has a length, the measures of its step over its seconds."""
    closed = [mark for mark in marks if mark.interval.duration_s > 0]
    return tuple(value for mark in closed for value in mark_values(tracks, checklist.step(mark.step_id), mark))
