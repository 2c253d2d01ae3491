"""Parquet: what was written is there with its types, its units and the facts of the film."""

from __future__ import annotations

import io
import json
from datetime import UTC, datetime

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

from review.exchange.columnar import ROWS_AT_ONCE, column_names, write_table, write_tracks
from review.exchange.columns import Column, Table
from tests.synthetic import clock, standing


def test_tracks_are_there_frame_by_frame() -> None:
    """Times are whole microseconds; points are float32 in pixels, states int8; what is absent is null, never NaN."""
    times = clock(120.0)
    tracks = standing(times)
    assert len(times) > ROWS_AT_ONCE
    tracks["pose_xy"][5] = np.nan
    read = pq.read_table(io.BytesIO(write_tracks(tracks, {"film_sha256": "ab", "frames_a_second": 30.0})))
    assert read.schema.field("time_us").type == pa.int64()
    assert read["time_us"].to_pylist() == [round(1e6 * time) for time in times]
    ankle = read["pose_xy.left_ankle.x"]
    expected = tracks["pose_xy"].sel(pose_point="left_ankle", space="x").values
    assert ankle.type == pa.float32()
    assert ankle[5].as_py() is None
    np.testing.assert_array_equal(np.delete(ankle.to_numpy(), 5), np.delete(expected, 5))
    assert read["pose_state"].type == pa.int8()
    assert read["pose_state"].to_pylist() == tracks["pose_state"].values.tolist()
    assert read.schema.field("pose_xy.left_ankle.x").metadata[b"unit"] == b"px"
    told = json.loads(read.schema.metadata[b"runthrough"])
    assert (told["film_sha256"], told["frames_a_second"], told["width_px"]) == ("ab", 30.0, tracks.attrs["width_px"])
    assert told["height_mm"] is None
    assert (told["schema_version"], told["tracks_schema_version"]) == (1, tracks.attrs["schema_version"])


def test_every_point_has_a_column_of_its_own() -> None:
    """Columns are named by variable, point and axis, in the order of the flattened points."""
    tracks = standing(clock(1.0))
    assert column_names(tracks, "pose_state") == ["pose_state"]
    assert column_names(tracks, "pose_xy")[:3] == ["pose_xy.nose.x", "pose_xy.nose.y", "pose_xy.left_eye_inner.x"]
    assert column_names(tracks, "hand_xy")[-1] == "hand_xy.right.20.y"


def test_tables_keep_their_types() -> None:
    """Text, whole and other numbers, truth and moments come back as such, nothing as null, units beside them."""
    columns = (
        Column("word", "text", "", "a word"),
        Column("count", "integer", "ms", "a count"),
        Column("size", "number", "s", "a size"),
        Column("true", "yes or no", "", "truth"),
        Column("at", "moment", "", "when"),
    )
    at = datetime(2026, 5, 4, 10, 0, 0, 123456, tzinfo=UTC)
    rows = [
        {"word": "=1", "count": 3, "size": 0.5, "true": True, "at": at},
        {"word": None, "count": None, "size": None, "true": None, "at": None},
    ]
    read = pq.read_table(io.BytesIO(write_table(Table("t", "", columns), rows, {"frames": 6})))
    assert read.to_pylist() == rows
    assert read.schema.field("count").metadata == {b"unit": b"ms", b"meaning": b"a count"}
    assert json.loads(read.schema.metadata[b"runthrough"]) == {"frames": 6, "schema_version": 1}
