"""What a measure said of the seconds of a check, beside what it should have said."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

import xarray as xr

from review.domain.errors import BrokenPromise
from review.domain.model import Event, Value
from review.domain.tracks import cut
from review.measures import registry
from review.pipeline.values import measured
from tests.benchmarks.truth.clips import Clip

_SAME_S = 0.5


@dataclass(frozen=True)
class Events:
    """Known events of a check that were found, how far off their onsets are, and others of the same kinds."""

    known: int = 0
    found: int = 0
    invented: int = 0
    off_s: tuple[float, ...] = ()


@dataclass(frozen=True)
class Row:
    """One check: `truth` is None where no number should be said."""

    clip: str
    about: dict[str, str]
    measure: str
    side: str | None
    unit: str
    truth: float | None
    value: float | None
    low: float | None
    high: float | None
    reasons: tuple[str, ...]
    events: Events

    @property
    def error(self) -> float | None:
        """Value less truth, None where either is missing."""
        return None if self.truth is None or self.value is None else self.value - self.truth

    @property
    def inside(self) -> bool | None:
        """Whether the truth lies in the interval; None where there is no number, or none should be."""
        if self.truth is None or self.low is None or self.high is None:
            return None
        return bool(self.low - 1e-9 <= self.truth <= self.high + 1e-9)


def rows_of(clip: Clip, tracks: xr.Dataset) -> list[Row]:
    """Measure every check of a film, but for those of measures that do not exist or whose bias is not known."""
    rows = []
    for check in clip.checks:
        if check["measure"] in registry():
            with suppress(BrokenPromise):
                rows.append(row_of(clip, check, _said(tracks, check)))
    return rows


def _said(tracks: xr.Dataset, check: dict[str, Any]) -> list[Value]:
    seconds = cut(tracks, check["onset_s"], check["offset_s"])
    return list(measured(seconds, registry()[check["measure"]], "clip"))


def row_of(clip: Clip, check: dict[str, Any], said: Sequence[Value]) -> Row:
    """Set what was said beside what should have been."""
    side = check.get("side")
    estimate = next((value.estimate for value in said if value.estimate.side == side), said[0].estimate)
    return Row(
        clip=clip.name,
        about=clip.about,
        measure=check["measure"],
        side=side,
        unit=check.get("unit", ""),
        truth=None if check.get("refuse") else float(check["value"]),
        value=estimate.value,
        low=estimate.low,
        high=estimate.high,
        reasons=tuple(reason.words for reason in estimate.reasons),
        events=_events(check, [event for value in said for event in value.events]),
    )


def _events(check: dict[str, Any], happened: Sequence[Event]) -> Events:
    if "events" not in check:
        return Events()
    kinds = {known["kind"] for known in check["events"]}
    left, off = [event for event in happened if event.kind in kinds or not kinds], []
    for known in check["events"]:
        near = [event for event in left if _same(known, event)]
        if near:
            best = min(near, key=lambda event: abs(event.interval.onset_s - known["at_s"]))
            left.remove(best)
            off.append(best.interval.onset_s - known["at_s"])
    return Events(len(check["events"]), len(off), len(left), tuple(off))


def _same(known: dict[str, Any], event: Event) -> bool:
    near = abs(event.interval.onset_s - known["at_s"]) < _SAME_S
    return near and event.kind == known["kind"] and known.get("side") in (None, event.side)
