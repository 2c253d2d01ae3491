"""Tracks and traces of a recording for screens, kept in memory while they do not change."""

from __future__ import annotations

import json
import struct
from functools import lru_cache

import numpy as np
import xarray as xr

from review.access import Deed, allowed
from review.domain.measure import Measure
from review.domain.model import Person, Reason, Recording
from review.measures import measure
from review.pipeline.values import streams_of, traced
from review.store.home import Home
from review.store.repository import reading
from review.store.trackstore import TrackStore


def version(home: Home, recording_id: str) -> str:
    """Return a text that changes whenever the tracks of a recording do; empty while nothing is finished.

    Tracks that another version of Runthrough laid out count as none.
    """
    store = TrackStore(home, recording_id)
    return store.version() if store.exists() and store.done() and not store.outdated() else ""


def tracks_of(home: Home, recording_id: str) -> xr.Dataset | None:
    """Return the tracks as far as they are computed, or None when nothing was looked at.

    Their numbers are read from the disk when asked for, and then stay in memory as long as the dataset does.
    """
    return TrackStore(home, recording_id).open() if version(home, recording_id) else None


@lru_cache(maxsize=3)
def to_cut(home: Home, recording_id: str, state: str) -> xr.Dataset:
    """Return the tracks in the state that `version` told, to cut short stretches from.

    What is cut is read from the disk; what is asked for whole would stay in memory, so take `tracks_of` for that.
    """
    return TrackStore(home, recording_id).open()


@lru_cache(maxsize=64)
def _traced(home: Home, recording_id: str, state: str, name: str) -> xr.DataArray:
    of = measure(name)
    return traced(TrackStore(home, recording_id).open(streams_of(of)), of)


def trace_of(home: Home, person: Person, recording: Recording, name: str) -> xr.DataArray | None:
    """Return a measure's trace over the whole film, or None when nothing was looked at yet."""
    with reading(home) as repo:
        recording = allowed(repo, person, Deed.SEE, recording.id)
    state = version(home, recording.id)
    return _traced(home, recording.id, state, name) if state else None


def columns_of(of: Measure, trace: xr.DataArray) -> list[str]:
    """Return the names of a trace's columns: its second dimension's labels, or the measure's title."""
    second = [str(dim) for dim in trace.dims if dim != "time"]
    return [str(label) for label in trace[second[0]].values] if second else [of.title]


def trace_bytes(of: Measure, trace: xr.DataArray) -> bytes:
    """Pack a trace for the browser.

    Little-endian: uint32 length of a JSON head (padded to a multiple of 8), the head ``{"samples", "columns",
    "unit", "reasons"}``, float64 times (s), float32 values (samples x columns, row by row, NaN for gaps), int8
    reasons (see `review.domain.model.Reason`).
    """
    flat = trace.transpose("time", ...).values.reshape(trace.sizes["time"], -1)
    head = {
        "samples": int(flat.shape[0]),
        "columns": columns_of(of, trace),
        "unit": str(trace.attrs.get("units", "")),
        "reasons": {int(reason): reason.words for reason in Reason},
    }
    text = json.dumps(head).encode()
    text += b" " * (-(len(text) + 4) % 8)
    parts = [
        struct.pack("<I", len(text)),
        text,
        trace["time"].values.astype("<f8").tobytes(),
        np.ascontiguousarray(flat, dtype="<f4").tobytes(),
        trace["reason"].values.astype("i1").tobytes(),
    ]
    return b"".join(parts)
