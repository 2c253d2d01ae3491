from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest
import xarray as xr
import zarr

from review.domain.errors import StoreBroken, TracksBroken
from review.domain.tracks import (
    FOUND,
    NOT_FOUND,
    NOT_LOOKED,
    SCHEMA_VERSION,
    STREAMS,
    VARIABLES,
    empty_tracks,
    is_state,
    looked,
)
from review.store.files import locked
from review.store.home import Home
from review.store.trackstore import GRAINS, TrackStore, tracks_lock

RATE = 30
TIMES = np.cumsum(np.random.default_rng(5).uniform(0.02, 0.05, 700))


def _tracks(times: np.ndarray, seed: int = 0, state: int = FOUND) -> xr.Dataset:
    """Make tracks in which all streams of all frames were looked at; points walk at random about the picture."""
    rng = np.random.default_rng(seed)
    tracks = empty_tracks(times, 1920, 1080)
    drift = np.cumsum(rng.normal(0, 1, len(times)))
    for name, (_, dims, unit) in VARIABLES.items():
        shape = tracks[name].shape
        if is_state(name):
            tracks[name][:] = state
        elif unit == "px" and len(dims) > 2:
            place = rng.uniform(100, 1000, shape[1:]) + drift.reshape(-1, *[1] * (len(shape) - 1))
            tracks[name][:] = place + rng.normal(0, 0.7, shape)
        elif name == "pose_world":
            tracks[name][:] = rng.uniform(-0.8, 0.8, shape[1:]) + rng.normal(0, 0.004, shape)
        else:
            tracks[name][:] = np.clip(np.abs(np.cumsum(rng.normal(0, 0.01, shape), axis=0)), 0, 1)
    return tracks


@pytest.fixture
def store(home: Home) -> TrackStore:
    """Lay out the tracks of a recording of 700 frames at uneven times."""
    store = TrackStore(home, "a1b2c3")
    store.create(empty_tracks(TIMES, 1920, 1080, 1720))
    return store


def test_new_tracks_say_that_nothing_was_looked_at(store: TrackStore) -> None:
    """Fresh tracks keep the contract, the clock and the attributes, and every number is absent."""
    tracks = store.open()
    np.testing.assert_array_equal(tracks["time"].values, TIMES)
    assert tracks.attrs == {
        "width_px": 1920,
        "height_px": 1080,
        "height_mm": 1720,
        "slow_motion": 1.0,
        "lifeless": False,
        "schema_version": SCHEMA_VERSION,
    }
    assert not any(looked(tracks, stream).any() for stream in STREAMS)
    assert all(np.isnan(tracks[name].values).all() for name in VARIABLES if not is_state(name))


def test_a_note_is_kept_and_changes_the_version(store: TrackStore) -> None:
    """What only the whole film tells is read back, screens learn of it, and saying it again changes nothing."""
    before = store.version()
    store.note("lifeless", True)
    assert store.open().attrs["lifeless"] is True
    noted = store.version()
    assert noted != before
    store.note("lifeless", True)
    assert store.version() == noted


def test_an_unknown_height_comes_back_as_unknown(home: Home) -> None:
    """NaN among the attributes survives a format that knows no NaN."""
    store = TrackStore(home, "r")
    store.create(empty_tracks([0.0, 0.1], 640, 480))
    assert np.isnan(store.open().attrs["height_mm"])


def test_tracks_come_back_within_half_a_grain(store: TrackStore) -> None:
    """Each number differs from what was written by at most half its rounding step, in single precision."""
    written = _tracks(TIMES)
    store.write(0, written, STREAMS)
    tracks = store.open()
    for name in VARIABLES:
        half = GRAINS.get(name, 0) / 2
        np.testing.assert_allclose(tracks[name].values, written[name].values, rtol=0, atol=half)
        assert tracks[name].dtype == written[name].dtype


def test_numbers_are_read_only_when_asked_for(store: TrackStore) -> None:
    """Opening reads no array but the clock: a broken file of another one is no fault until its numbers are used."""
    store.write(0, _tracks(TIMES), STREAMS)
    broken = sorted((store._group / "face_xy" / "c").rglob("*"))
    for path in broken:
        if path.is_file():
            path.write_bytes(b"broken")
    tracks = store.open()
    assert np.isfinite(tracks["pose_xy"].values).all()
    with pytest.raises(RuntimeError):
        tracks["face_xy"].load()


def test_only_the_given_streams_are_taken_over(store: TrackStore) -> None:
    """A chunk of work on the face leaves the body as it was, though its dataset holds both."""
    store.write(100, _tracks(TIMES[100:200]), ["face"])
    tracks = store.open()
    assert np.flatnonzero(looked(tracks, "face")).tolist() == list(range(100, 200))
    assert not looked(tracks, "pose").any()
    assert np.isnan(tracks["pose_xy"].values).all()


@pytest.mark.parametrize("first", [0, 250, 299, 550], ids=lambda first: f"from frame {first}")
def test_only_frames_looked_at_overwrite(store: TrackStore, first: int) -> None:
    """A coarse look at every third frame keeps what a dense one found between them, over chunk borders too."""
    dense, coarse = _tracks(TIMES, seed=1), _tracks(TIMES[first : first + 150], seed=2, state=NOT_FOUND)
    mask = np.arange(150) % 3 == 0
    for name in VARIABLES:
        skipped = NOT_LOOKED if is_state(name) else np.nan
        coarse[name].values[~mask] = skipped
    store.write(0, dense, STREAMS)
    store.write(first, coarse, STREAMS)
    tracks = store.open()
    expected = np.full(700, FOUND)
    expected[first : first + 150][mask] = NOT_FOUND
    np.testing.assert_array_equal(tracks["pose_state"].values, expected)
    for name in ("pose_xy", "brightness", "face_xy"):
        mixed = dense[name].values.copy()
        mixed[first : first + 150][mask] = coarse[name].values[mask]
        np.testing.assert_allclose(tracks[name].values, mixed, rtol=0, atol=GRAINS[name] / 2)


def test_absent_and_not_found_stay_apart(store: TrackStore) -> None:
    """A frame looked at in vain has the state for it, and NaN like one not looked at."""
    nobody = empty_tracks(TIMES[:10], 1920, 1080)
    nobody["pose_state"][:5] = NOT_FOUND
    store.write(0, nobody, ["pose"])
    tracks = store.open()
    assert tracks["pose_state"].values[:10].tolist() == [NOT_FOUND] * 5 + [NOT_LOOKED] * 5
    assert np.isnan(tracks["pose_xy"].values).all()


@pytest.mark.parametrize(
    ("first", "times", "streams", "words"),
    [
        (1, TIMES[:10], ["pose"], "times that are not the recording's"),
        (-10, TIMES[-10:], ["pose"], "times that are not the recording's"),
        (695, np.append(TIMES[695:], 99.0), ["pose"], "times that are not the recording's"),
        (0, TIMES[:10], ["voice"], "stream voice is unknown, expected one of pose, face, hand, picture"),
    ],
    ids=["shifted", "before the start", "beyond the end", "unknown stream"],
)
def test_what_does_not_fit_is_refused(
    store: TrackStore, first: int, times: np.ndarray, streams: list[str], words: str
) -> None:
    """Tracks on another clock or of an unknown stream change nothing."""
    with pytest.raises(TracksBroken, match=words):
        store.write(first, _tracks(times), streams)
    assert not looked(store.open(), "pose").any()


def test_a_missing_variable_is_named(store: TrackStore) -> None:
    """A dataset without a variable of its stream is refused by name, before anything is written."""
    with pytest.raises(TracksBroken, match="blendshape is missing"):
        store.write(0, _tracks(TIMES).drop_vars("blendshape"), ["face"])
    assert not looked(store.open(), "face").any()


def test_laying_out_again_keeps_what_is_there(store: TrackStore) -> None:
    """Creating tracks that exist on the same clock loses nothing; on another clock it is refused."""
    store.write(0, _tracks(TIMES), STREAMS)
    store.mark_done("pose:0")
    store.create(empty_tracks(TIMES, 1920, 1080))
    assert store.done() == {"pose:0"}
    assert looked(store.open(), "pose").all()
    with pytest.raises(TracksBroken, match="times that are not the recording's"):
        store.create(empty_tracks(TIMES[:-1], 1920, 1080))


def test_finished_chunks_are_remembered_by_any_key(home: Home, store: TrackStore) -> None:
    """Keys come back as they went in, whatever characters they hold, also in another object."""
    keys = {"pose+face@10.0/300-600", "Ä b", ".hidden", "..", "a%2Fb"}
    for key in keys:
        store.mark_done(key)
    assert TrackStore(home, "a1b2c3").done() == keys


def test_erased_tracks_are_gone(home: Home, store: TrackStore) -> None:
    """Nothing is left of erased tracks, and every use says what to do."""
    store.write(0, _tracks(TIMES), STREAMS)
    store.mark_done("x")
    store.erase()
    store.erase()
    assert not store.exists()
    assert store.done() == set()
    assert list(home.tracks.iterdir()) == [tracks_lock(home, "a1b2c3")]
    for use in (store.open, lambda: store.mark_done("y"), lambda: store.write(0, _tracks(TIMES), STREAMS)):
        with pytest.raises(StoreBroken, match="Analyse the film again"):
            use()


@pytest.mark.parametrize("identity", ["../up", "", "a/b", "x" * 65, ".hidden"])
def test_only_a_plain_id_names_a_folder(home: Home, identity: str) -> None:
    """An id that would lead out of the folder is refused."""
    with pytest.raises(StoreBroken, match="recording's id"):
        TrackStore(home, identity)


def test_a_minute_with_body_face_and_hands_stays_under_3_mb(home: Home) -> None:
    """A minute at 30 frames a second, everything found in every frame, needs less than 3 MB on the disk."""
    times = np.arange(60 * RATE) / RATE
    store = TrackStore(home, "minute")
    store.create(empty_tracks(times, 1920, 1080))
    tracks = _tracks(times)
    for first in range(0, len(times), 300):
        store.write(first, tracks.isel(time=slice(first, first + 300)), STREAMS)
    size = sum(path.stat().st_size for path in (home.tracks / "minute").rglob("*") if path.is_file())
    assert 300_000 < size < 3_000_000


WRITER = """
import sys
from pathlib import Path
import numpy as np
from review.domain.tracks import SCHEMA_VERSION, STREAMS, empty_tracks
from review.store.home import Home
from review.store.trackstore import TrackStore

home, mode = Home(Path(sys.argv[1])), sys.argv[2]
store = TrackStore(home, "a1b2c3")
times = store.open()["time"].values
tracks = empty_tracks(times, 1920, 1080)
for name in tracks.data_vars:
    tracks[name][:] = 2
first, second = tracks.isel(time=slice(0, 300)), tracks.isel(time=slice(300, 600))
store.write(0, first, STREAMS)
store.mark_done("one")
if mode == "between":
    store.write(300, second, STREAMS)
    print("ready", flush=True)
    sys.stdin.read()
print("ready", flush=True)
while True:
    store.write(300, second, STREAMS)
"""


@pytest.fixture
def writer(home: Home, store: TrackStore) -> Iterator[list[subprocess.Popen[str]]]:
    """Kill, at the end, every writer a test has started."""
    started: list[subprocess.Popen[str]] = []
    yield started
    for process in started:
        process.kill()
        process.communicate()


def _start(home: Home, mode: str) -> subprocess.Popen[str]:
    process = subprocess.Popen(
        [sys.executable, "-c", WRITER, str(home.root), mode], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "ready\n"
    return process


@pytest.mark.skipif(sys.platform == "win32", reason="SIGKILL is not there")
@pytest.mark.parametrize(
    ("mode", "wait_s"),
    [("between", 0.0), *(("amid", wait_s) for wait_s in (0.005, 0.03, 0.06))],
    ids=["between data and note", "amid writing, early", "amid writing, later", "amid writing, late"],
)
def test_a_killed_writer_halves_nothing(
    home: Home, store: TrackStore, writer: list[subprocess.Popen[str]], mode: str, wait_s: float
) -> None:
    """After SIGKILL the unfinished chunk is not done, no frame is looked at without its numbers, and work goes on."""
    process = _start(home, mode)
    writer.append(process)
    time.sleep(wait_s)
    os.kill(process.pid, signal.SIGKILL)
    process.wait()
    assert store.done() == {"one"}
    tracks = store.open().load()
    assert (tracks["pose_xy"].values[:300] == 2).all()
    assert looked(tracks, "face")[:300].all()
    for name, (stream, _, _) in VARIABLES.items():
        unfinished = tracks[name].values[300:600]
        assert (np.isnan(unfinished) | (unfinished == 2) | (unfinished == NOT_LOOKED)).all()
        assert (unfinished[looked(tracks, stream)[300:600]] == 2).all()
    store.write(300, _tracks(TIMES[300:600]), STREAMS)
    store.mark_done("two")
    assert store.done() == {"one", "two"}
    assert looked(store.open(), "pose")[:600].all()


def test_a_writer_waits_for_another(home: Home, store: TrackStore) -> None:
    """While one process merges, a second neither reads nor writes the pieces that the first is about to replace."""
    with ThreadPoolExecutor(1) as pool:
        with locked(tracks_lock(home, "a1b2c3")):
            writing = pool.submit(store.write, 0, _tracks(TIMES[:20]), ["pose"])
            time.sleep(0.3)
            assert not looked(store.open(), "pose").any()
        writing.result()
    assert looked(store.open(), "pose").sum() == 20


def test_a_writer_waits_for_no_other_film(home: Home, store: TrackStore) -> None:
    """While the tracks of one recording change, those of another can be written."""
    with locked(tracks_lock(home, "b2b2b2")), ThreadPoolExecutor(1) as pool:
        pool.submit(store.write, 0, _tracks(TIMES[:20]), ["pose"]).result(timeout=30)
    assert looked(store.open(), "pose").sum() == 20


def test_a_half_made_layout_is_made_anew(home: Home) -> None:
    """A folder that a crash left half laid out does not count, and is replaced."""
    (home.tracks / "r.new" / "tracks.zarr").mkdir(parents=True)
    (home.tracks / "r.new" / "tracks.zarr" / "zarr.json").write_text("{")
    store = TrackStore(home, "r")
    assert not store.exists()
    store.create(empty_tracks([0.0, 0.1], 640, 480))
    assert store.open().sizes["time"] == 2
    assert not Path(home.tracks / "r.new").exists()


def test_tracks_of_another_form_are_told_apart(store: TrackStore, home: Home) -> None:
    """Fresh tracks are up to date; a group that names another form is outdated, and none at all is not."""
    assert not store.outdated()
    zarr.open_group(home.tracks / "a1b2c3" / "tracks.zarr", mode="r+").attrs["schema_version"] = SCHEMA_VERSION - 1
    assert store.outdated()
    assert not TrackStore(home, "unknown").outdated()
