"""Tracks on the disk: one Zarr group a recording, compressed, chunked along time.

::

    tracks/<recording>/tracks.zarr/    one array for each variable of `review.domain.tracks`
                       done/           one empty file for each finished chunk of work

Positions and weights are rounded to a power of two far below what a landmark model resolves (`GRAINS`). The numbers
stay plain float32 with NaN for what is absent; the zero bits that rounding leaves are what the compression lives on.
"""

from __future__ import annotations

import math
import re
import shutil
from collections.abc import Collection, Sequence
from pathlib import Path
from typing import Any, Final, cast
from urllib.parse import quote, unquote

import numpy as np
import numpy.typing as npt
import xarray as xr
import zarr
from zarr.codecs import BloscCodec, TransposeCodec

from review.domain.errors import StoreBroken, TracksBroken
from review.domain.tracks import NOT_LOOKED, SCHEMA_VERSION, STREAMS, VARIABLES, check_tracks, is_state, looked
from review.store.files import locked, settle
from review.store.home import Home

GRAINS: Final = {
    "pose_xy": 1 / 16,
    "pose_visibility": 1 / 1024,
    "pose_world": 1 / 2048,
    "face_xy": 1 / 16,
    "face_width": 1 / 16,
    "blendshape": 1 / 1024,
    "head_angle": 1 / 64,
    "hand_xy": 1 / 16,
    "other_hand_xy": 1 / 16,
    "brightness": 1 / 4096,
    "contrast": 1 / 4096,
    "background_shift": 1 / 256,
    "sound_onset": 1 / 64,
    "sound_onset_after": 1 / 8192,
    "sound_onset_fall": 1 / 64,
    "sound_voicing": 1 / 1024,
    "sound_speech": 1 / 64,
    "sound_tilt": 1 / 64,
}
"""Step to which a variable is rounded, in its unit; the others are kept as they come."""

_WIDE_CHUNK: Final = 300
_FLAT_CHUNK: Final = 3000


def tracks_lock(home: Home, recording_id: str) -> Path:
    """Return the file that is locked while a recording's tracks change; the few whose ids begin alike share it."""
    return home.tracks / f".{recording_id[:2]}.lock"


class TrackStore:
    """The tracks of one recording.

    Parameters
    ----------
    home
        Where they lie.
    recording_id
        Whose they are.
    """

    def __init__(self, home: Home, recording_id: str) -> None:
        if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9_-]{0,63}", recording_id):
            raise StoreBroken(
                f"{recording_id!r} came as a recording's id; expected up to 64 letters, digits, - and _. "
                "Add the film again."
            )
        self._folder = home.tracks / recording_id
        self._lock = tracks_lock(home, recording_id)

    @property
    def _group(self) -> Path:
        return self._folder / "tracks.zarr"

    @property
    def _done(self) -> Path:
        return self._folder / "done"

    def exists(self) -> bool:
        """Tell whether the group is laid out."""
        return self._folder.is_dir()

    def outdated(self) -> bool:
        """Tell whether the group is there, but was laid out by another version of the contract."""
        return self.exists() and self._open_group("r").attrs.get("schema_version") != SCHEMA_VERSION

    def version(self) -> str:
        """Return a text that changes whenever the tracks do, or are laid out anew; empty when there are none."""
        if not self.exists():
            return ""
        return f"{(self._group / 'zarr.json').stat().st_mtime_ns}:{','.join(sorted(self.done()))}"

    def create(self, empty: xr.Dataset) -> None:
        """Lay the group out on a recording's clock, in one step that a crash cannot halve.

        A group that is there already is kept if it has the same clock.

        Parameters
        ----------
        empty
            Tracks in which nothing was looked at yet, see `review.domain.tracks.empty_tracks`.

        Raises
        ------
        TracksBroken
            If `empty` does not keep the contract, or a group with another clock is there.
        """
        check_tracks(empty)
        with locked(self._lock):
            if self.exists():
                self._expect_clock(0, empty["time"].values, whole=True)
                return
            fresh = self._folder.with_name(f"{self._folder.name}.new")
            shutil.rmtree(fresh, ignore_errors=True)
            _lay_out(fresh / "tracks.zarr", empty)
            (fresh / "done").mkdir()
            for path in sorted(fresh.rglob("*")):
                settle(path)
            fresh.replace(self._folder)
            settle(self._folder.parent)

    def write(self, first: int, tracks: xr.Dataset, streams: Sequence[str]) -> None:
        """Merge what was found into the group; it is on the disk on return.

        Only frames that were looked at overwrite what is there, so a coarse look between two dense ones spoils none.

        Parameters
        ----------
        first
            Index, in the whole recording, of the first frame of `tracks`.
        tracks
            Tracks of consecutive frames, holding at least the variables of `streams`.
        streams
            Names of the streams to take over, of `review.domain.tracks.STREAMS`.

        Raises
        ------
        TracksBroken
            If a stream is unknown, a variable is missing or misshapen, or the times are not the recording's.
        """
        names = _variables_of(tracks, streams)
        with locked(self._lock):
            self._expect_clock(first, tracks["time"].values)
            group = self._open_group("r+")
            for name in names:
                values = _rounded(name, tracks[name].values)
                mask = looked(tracks, VARIABLES[name][0])
                self._merge(group, name, first, values, mask)

    def _merge(
        self, group: zarr.Group, name: str, first: int, values: npt.NDArray[np.generic], mask: npt.NDArray[np.bool_]
    ) -> None:
        touched = np.flatnonzero(mask)
        if not len(touched):
            return
        array = cast("zarr.Array[Any]", group[name])
        onset, offset = int(touched[0]), int(touched[-1]) + 1
        kept = np.array(array[first + onset : first + offset])
        if kept.shape[1:] != values.shape[1:]:
            raise TracksBroken(f"{name} came with shape {values.shape}, expected (time, {kept.shape[1:]}).")
        kept[mask[onset:offset]] = values[onset:offset][mask[onset:offset]]
        array[first + onset : first + offset] = kept
        rows = array.chunks[0]
        for index in range((first + onset) // rows, (first + offset - 1) // rows + 1):
            _settle_tree(self._group / name / "c" / str(index))

    def note(self, name: str, value: bool) -> None:
        """Note an attribute of the tracks that only the whole film tells."""
        with locked(self._lock):
            group = self._open_group("r+")
            if group.attrs.get(name) != value:
                group.attrs[name] = value
                settle(self._group / "zarr.json")

    def done(self) -> set[str]:
        """Return the keys of finished chunks; empty when nothing is there."""
        if not self._done.is_dir():
            return set()
        return {unquote(path.name) for path in self._done.iterdir()}

    def mark_done(self, key: str) -> None:
        """Note that the chunk `key` is finished; call it after its `write`, which is on the disk by then."""
        try:
            self._marker(key).touch()
        except FileNotFoundError as error:
            raise self._absent() from error
        settle(self._done)

    def forget(self, beginning: str) -> None:
        """Count finished chunks whose key begins so as not finished."""
        for key in self.done():
            if key.startswith(beginning):
                self._marker(key).unlink(missing_ok=True)

    def _marker(self, key: str) -> Path:
        return self._done / quote(key, safe="").replace(".", "%2E")

    def states(self) -> dict[str, npt.NDArray[np.bool_]]:
        """Return for each stream whether each frame was looked at; shape ``(time,)``."""
        group = self._open_group("r")
        kept = {stream: cast("zarr.Array[Any]", group[f"{stream}_state"]) for stream in STREAMS}
        return {stream: np.asarray(array[:]) != NOT_LOOKED for stream, array in kept.items()}

    def open(self, streams: Collection[str] = ()) -> xr.Dataset:
        """Return the tracks; their numbers are read from the disk whenever they are asked for.

        Parameters
        ----------
        streams
            Streams whose numbers are read at once and stay in memory.

        Raises
        ------
        StoreBroken
            If there are none.
        TracksBroken
            If they do not keep the contract, for instance since an older version made them.
        """
        group = self._open_group("r")
        notes = dict(group.attrs)
        stored = xr.open_zarr(self._group, consolidated=False, chunks=None, decode_cf=False, zarr_format=3)
        coords = cast("dict[str, list[Any]]", notes.pop("coords"))
        height = notes.pop("height_mm")
        attrs = {**notes, "height_mm": math.nan if height is None else height}
        tracks = check_tracks(stored.drop_attrs(deep=False).assign_coords(coords).assign_attrs(attrs))
        for name, (stream, _, _) in VARIABLES.items():
            if stream in streams:
                tracks[name].load()
        return tracks

    def erase(self) -> None:
        """Remove the tracks and the list of finished chunks; no fault if there are none."""
        with locked(self._lock):
            gone = self._folder.with_name(f"{self._folder.name}.gone")
            shutil.rmtree(gone, ignore_errors=True)
            if self.exists():
                self._folder.replace(gone)
                shutil.rmtree(gone)

    def _open_group(self, mode: Any) -> zarr.Group:
        try:
            return zarr.open_group(self._group, mode=mode, zarr_format=3)
        except (OSError, ValueError) as error:
            raise self._absent() from error

    def _absent(self) -> StoreBroken:
        return StoreBroken(
            f"No tracks can be read from {self._group}; expected a folder made by an analysis. Analyse the film again."
        )

    def _expect_clock(self, first: int, times: npt.NDArray[np.float64], whole: bool = False) -> None:
        clock = np.asarray(cast("zarr.Array[Any]", self._open_group("r")["time"])[:])
        expected = clock if whole else clock[first : first + len(times)]
        if first < 0 or not np.array_equal(expected, times):
            raise TracksBroken(
                f"{len(times)} frames from frame {first} on came with times that are not the recording's. "
                "Erase the tracks and analyse the film again."
            )


def _lay_out(path: Path, empty: xr.Dataset) -> None:
    group = zarr.create_group(path, zarr_format=3)
    height = float(empty.attrs["height_mm"])
    listed = {str(dim): empty[dim].values.tolist() for dim in empty.dims if dim != "time" and dim in empty.coords}
    group.attrs.update({**empty.attrs, "height_mm": None if math.isnan(height) else height, "coords": listed})
    clock = _add_array(group, empty["time"])
    clock[:] = empty["time"].values
    for name in VARIABLES:
        _add_array(group, empty[name])


def _add_array(group: zarr.Group, variable: xr.DataArray) -> zarr.Array[Any]:
    shape = variable.shape
    wide = len(shape) > 1
    rows = _WIDE_CHUNK if wide else _FLAT_CHUNK
    size = variable.dtype.itemsize
    array = group.create_array(
        str(variable.name),
        shape=shape,
        chunks=(max(1, min(rows, shape[0])), *shape[1:]),
        dtype=variable.dtype,
        fill_value=np.nan if variable.dtype.kind == "f" else 0,
        dimension_names=[str(dim) for dim in variable.dims],
        filters=[TransposeCodec(order=(*range(1, len(shape)), 0))] if wide else None,
        compressors=BloscCodec(cname="zstd", clevel=5, shuffle="bitshuffle", typesize=size),
        attributes={"units": variable.attrs["units"]},
    )
    return array


def _variables_of(tracks: xr.Dataset, streams: Sequence[str]) -> list[str]:
    known = ", ".join(STREAMS)
    faults = [f"stream {name} is unknown, expected one of {known}" for name in streams if name not in STREAMS]
    wanted = [name for name, (stream, _, _) in VARIABLES.items() if stream in streams]
    faults += [f"{name} is missing" for name in wanted if name not in tracks]
    if faults:
        raise TracksBroken("These tracks cannot be stored: " + "; ".join(faults) + ".")
    return sorted(wanted, key=is_state)


def _rounded(name: str, values: npt.NDArray[Any]) -> npt.NDArray[np.generic]:
    if is_state(name):
        return values.astype(np.int8)
    grain = GRAINS.get(name)
    exact = values.astype(np.float32)
    return exact if grain is None else np.round(exact / np.float32(grain)) * np.float32(grain)


def _settle_tree(path: Path) -> None:
    paths = [path, *path.rglob("*")] if path.is_dir() else [path]
    for part in [*paths, path.parent]:
        if part.exists():
            settle(part)
