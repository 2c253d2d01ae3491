"""Tables and landmark tracks as Parquet, with units and facts of the film in the file's metadata.

References
----------
Apache Parquet format: the logical types TIMESTAMP and INT, and key-value metadata of a file.
"""

from __future__ import annotations

import io
import json
import math
from collections.abc import Iterable, Mapping
from typing import Any, Final

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import xarray as xr

from review.domain.tracks import VARIABLES, is_state
from review.exchange.columns import Column, Row, Table
from review.exchange.said import SCHEMA_VERSION

MEDIA_TYPE: Final = "application/vnd.apache.parquet"

ROWS_AT_ONCE: Final = 3000
"""Frames of tracks that are in memory at a time."""

_KINDS: Final = {
    "text": pa.string(),
    "integer": pa.int64(),
    "number": pa.float64(),
    "yes or no": pa.bool_(),
    "moment": pa.timestamp("us", tz="UTC"),
}


def write_table(table: Table, rows: Iterable[Row], facts: Mapping[str, Any]) -> bytes:
    """Write rows as a Parquet file; each column carries its unit and meaning, the file the facts as JSON."""
    schema = pa.schema([_field(column) for column in table.columns], metadata=_told(facts))
    plain = [{column.name: row[column.name] for column in table.columns} for row in rows]
    paper = io.BytesIO()
    pq.write_table(pa.Table.from_pylist(plain, schema=schema), paper, compression="zstd")
    return paper.getvalue()


def _field(column: Column) -> pa.Field[Any]:
    return pa.field(column.name, _KINDS[column.kind], metadata={"unit": column.unit, "meaning": column.meaning})


def _told(facts: Mapping[str, Any]) -> dict[str, str]:
    """Return facts as key-value metadata; what is not known (NaN) is null."""
    plain = {key: None if isinstance(fact, float) and math.isnan(fact) else fact for key, fact in facts.items()}
    return {"runthrough": json.dumps({**plain, "schema_version": SCHEMA_VERSION}, ensure_ascii=False)}


def write_tracks(tracks: xr.Dataset, facts: Mapping[str, Any]) -> bytes:
    """Write tracks as a Parquet file, one row a frame.

    ``time_us`` is an integer: microseconds from the first frame. Every other column is one variable of
    `review.domain.tracks` at one of its points: ``pose_xy.left_ankle.x`` in float32, ``pose_state`` in int8. What is
    absent is null; the state columns tell why.

    Parameters
    ----------
    tracks
        See `review.domain.tracks`; read from the disk `ROWS_AT_ONCE` frames at a time.
    facts
        What is told of the film and the models in the file's metadata.
    """
    names = {name: column_names(tracks, name) for name in VARIABLES}
    units = {column: VARIABLES[name][2] for name, columns in names.items() for column in columns}
    kinds = {
        column: pa.int8() if is_state(name) else pa.float32() for name, columns in names.items() for column in columns
    }
    fields = [pa.field(column, kinds[column], metadata={"unit": units[column]}) for column in units]
    time = pa.field("time_us", pa.int64(), nullable=False, metadata={"unit": "us"})
    schema = pa.schema(
        [time, *fields],
        metadata=_told({**tracks.attrs, **facts, "tracks_schema_version": tracks.attrs["schema_version"]}),
    )
    paper = io.BytesIO()
    with pq.ParquetWriter(paper, schema, compression="zstd") as writer:
        for first in range(0, tracks.sizes["time"], ROWS_AT_ONCE):
            part = tracks.isel(time=slice(first, first + ROWS_AT_ONCE))
            writer.write_table(pa.table(_columns(part, names), schema=schema))
    return paper.getvalue()


def column_names(tracks: xr.Dataset, name: str) -> list[str]:
    """Return the names of a variable's columns, in the order of its flattened points."""
    labels = [""]
    for dim in tracks[name].dims[1:]:
        labels = [f"{label}.{point}" for label in labels for point in tracks[dim].values]
    return [f"{name}{label}" for label in labels]


def _columns(part: xr.Dataset, names: Mapping[str, list[str]]) -> list[pa.Array[Any]]:
    times = np.round(part["time"].values * 1e6).astype(np.int64)
    columns = [pa.array(times)]
    for name in names:
        flat = part[name].values.reshape(part.sizes["time"], -1)
        columns += [pa.array(np.ascontiguousarray(column), from_pandas=not is_state(name)) for column in flat.T]
    return columns
