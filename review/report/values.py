"""Values of a recording as tables and as JSON for other programs."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from review.access import Deed, allowed
from review.domain.errors import NotFound
from review.domain.model import Interval, Person, Recording, Value
from review.measures import measure
from review.pipeline.values import film_values, marked_values
from review.report.recordings import facts
from review.report.tracks import tracks_of
from review.report.words import missed_words, value_words
from review.store.home import Home
from review.store.repository import reading


def values_of(home: Home, person: Person, recording: Recording) -> tuple[Value, ...]:
    """Return the values of the marked steps, or of the whole film where no step is marked.

    Raises
    ------
    NotFound
        If the recording was not analysed yet.
    """
    with reading(home) as repo:
        recording = allowed(repo, person, Deed.SEE, recording.id)
        tracks = tracks_of(home, recording.id)
        if tracks is None:
            raise NotFound(f"{recording.name} was not analysed yet. Run: runthrough analyse {recording.id}")
        marks = [mark for mark in repo.marks(recording.id) if mark.interval.duration_s > 0]
        if marks and recording.checklist_id:
            sheet = repo.checklist(recording.checklist_id, recording.checklist_version)
            return marked_values(tracks, sheet, marks)
        kept = repo.values(recording.id)
    return kept or film_values(tracks, recording.id)


def as_json(recording: Recording, values: Iterable[Value], entries: Sequence[Mapping[str, Any]] = ()) -> dict[str, Any]:
    """Return ``{"recording", "values", "events", "entries"}`` with plain JSON values under fixed names.

    `entries` is what `review.report.entries.entries_of` gives.
    """
    found = list(values)
    events = [
        {"measure": value.measure, "side": event.side, **_ends(event.interval), "kind": event.kind, "peak": event.peak}
        for value in found
        for event in value.events
    ]
    said = {"values": [_value(value) for value in found], "events": events, "entries": [dict(one) for one in entries]}
    return {"recording": facts(recording), **said}


def _value(value: Value) -> dict[str, Any]:
    estimate = value.estimate
    return {
        "measure": value.measure,
        "step": value.step_id,
        "side": estimate.side or value.step_side,
        "value": _finite(estimate.value),
        "unit": value.unit,
        "low": _finite(estimate.low),
        "high": _finite(estimate.high),
        "usable": round(estimate.usable, 4),
        "reasons": [reason.words for reason in estimate.reasons],
        "evidence": [[round(part.onset_s, 4), round(part.offset_s, 4)] for part in estimate.evidence],
    }


def _ends(seconds: Interval) -> dict[str, float]:
    return {"onset_s": round(seconds.onset_s, 4), "offset_s": round(seconds.offset_s, 4)}


def _finite(number: float | None) -> float | None:
    """Keep a number only if JSON can hold it."""
    return None if number is None or not math.isfinite(number) else float(number)


def flat(row: Mapping[str, Any]) -> dict[str, Any]:
    """Return a value's JSON row with its lists written as text, for CSV."""
    evidence = " ".join(f"{onset:.3f}-{offset:.3f}" for onset, offset in row["evidence"])
    return {**row, "reasons": "; ".join(row["reasons"]), "evidence": evidence}


def line(value: Value) -> dict[str, str]:
    """Return a value as one line of a table in words."""
    estimate, of = value.estimate, measure(value.measure)
    return {
        "measure": value.measure,
        "step": value.step_id or "whole film",
        "side": estimate.side or value.step_side or "",
        "what it says": "; ".join(filter(None, (value_words(of, estimate), missed_words(of, value)))),
        "seen": ", ".join(f"{event.kind} {event.interval.onset_s:.2f} s" for event in value.events[:6])
        + (f" and {len(value.events) - 6} more" if len(value.events) > 6 else ""),
    }
