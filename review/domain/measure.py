"""What a measure is: a pure function from tracks to a trace, and one from the trace to estimates."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
import xarray as xr

from review.domain.construction import ConstructionFunction
from review.domain.model import Estimate, Event, Reason

TraceFunction = Callable[[xr.Dataset], xr.DataArray]
SummaryFunction = Callable[[xr.DataArray], tuple[Estimate, ...]]
EventFunction = Callable[[xr.DataArray], tuple[Event, ...]]
FilmFunction = Callable[[xr.Dataset], Mapping[str, float]]


@dataclass(frozen=True, slots=True)
class Filmed:
    """What a film has to offer: whether it has sound, and its frames in a second of life."""

    has_sound: bool
    rate_hz: float


@dataclass(frozen=True, slots=True)
class Need:
    """What a measure must have looked at: a stream of the tracks, at this many frames a second.

    Attributes
    ----------
    stream, rate_hz
        Stream, and how many of its frames a second.
    silent_only
        Whether it takes the place of the sound, and is needed only where there is none.
    from_hz
        It is of use only in a film of so many frames a second; a slower one is not looked at for it.
    """

    stream: str
    rate_hz: float
    silent_only: bool = False
    from_hz: float = 0.0

    def holds(self, filmed: Filmed) -> bool:
        """Tell whether a film must be looked at for it."""
        return not (self.silent_only and filmed.has_sound) and filmed.rate_hz >= self.from_hz


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """Declaration of a measure.

    Parameters
    ----------
    name
        Name used in checklists, tables and files.
    title
        Name on the screen, in plain words.
    trace
        Pure function of the tracks of a stretch. Returns a `DataArray` over ``time`` (and possibly ``side`` or
        another short dimension) with ``attrs["units"]`` and the coordinate ``reason`` (see `with_reasons`).
        NaN where nothing can be said.
    summarise
        Pure function of the trace: one estimate, or one for each side.
    events
        Pure function of the trace: what happened when.
    unit
        Unit of the estimates' values; "1" for a ratio.
    needs
        Streams and rates that must have been looked at.
    reference
        Source of the definition, or "common practice, no source".
    unit_words
        How the unit of a value is said, such as "shoulder widths" or "of 6 positions"; empty to say `unit` itself.
        A value whose words begin with "%" is a share and is said in per cent.
    curve
        What the trace shows, in plain words; empty when that is what `title` says.
    parts
        Kinds of events that a full performance shows, each; those not seen are named beside the value.
    level
        Whether a value is a level of the trace, so that a target can be drawn on the curve as a band.
    construction
        Pure function of the tracks of a stretch: what the number rests on, to be drawn over the film.
    of_film
        Pure function of the tracks of the whole film: what a stretch is compared with. The tracks of a stretch carry it
        among their attributes.
    """

    name: str
    title: str
    trace: TraceFunction
    summarise: SummaryFunction
    unit: str
    needs: tuple[Need, ...]
    reference: str
    events: EventFunction | None = None
    unit_words: str = ""
    curve: str = ""
    parts: tuple[str, ...] = ()
    level: bool = False
    construction: ConstructionFunction | None = None
    of_film: FilmFunction | None = None


def with_reasons(trace: xr.DataArray, reason: np.ndarray, units: str) -> xr.DataArray:
    """Return `trace` with NaN where `reason` is set, the ``reason`` coordinate and its unit.

    Parameters
    ----------
    trace
        Values over ``time`` and possibly one more dimension.
    reason
        Integer array of `Reason` values, over time, shape ``(time,)``.
    units
        Unit of the trace.
    """
    codes = xr.DataArray(np.asarray(reason, dtype=np.int8), dims=("time",), coords={"time": trace["time"]})
    lost = codes != int(Reason.NONE)
    masked = trace.where(~lost)
    return masked.assign_coords(reason=codes).assign_attrs({**trace.attrs, "units": units})
