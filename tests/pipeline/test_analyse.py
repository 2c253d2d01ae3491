"""Analysing a film: it can be killed at any point and goes on where it was, and what came of it is whole."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from itertools import islice
from pathlib import Path

import av
import psutil
import pytest

from review.domain.tracks import FOUND, NOT_LOOKED
from review.store.home import Home, find_home
from review.store.repository import reading
from review.store.trackstore import TrackStore
from sample_clips import clip_path
from tests.films import even_times, make_film

RUNTHROUGH = Path(sys.executable).with_name("runthrough")
FACE = clip_path("face")
"""Eighteen seconds in two chunks."""

SPARSE_SIZE = (640, 360)


@pytest.fixture(scope="module")
def sparse(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Write every third frame of the face clip, half as wide: two chunks still, at a tenth of the cost."""
    return every(3, tmp_path_factory.mktemp("sparse") / "sparse.mp4", SPARSE_SIZE)


def every(step: int, path: Path, size: tuple[int, int]) -> Path:
    """Write every so many frames of the face clip, at thirty a second of it, as a film of this size."""
    with av.open(str(FACE)) as film:
        frames = islice(film.decode(video=0), 0, None, step)
        pictures = [frame.reformat(*size, "rgb24").to_ndarray() for frame in frames]
    return make_film(path, even_times(len(pictures), 30.0 / step), size, picture=lambda number: pictures[number])


def start(home: Home, film: Path) -> subprocess.Popen[str]:
    """Start the analysis of a film."""
    order = [RUNTHROUGH, "analyse", film, "--json", "--home", home.root]
    return subprocess.Popen(order, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def closely(home: Home, recording_id: str) -> set[str]:
    """Return the keys of the finished units in which the film was looked at closely."""
    return {key for key in TrackStore(home, recording_id).done() if key[0].isdigit()}


def first_chunk(home: Home, process: subprocess.Popen[str]) -> tuple[str, set[str]]:
    """Wait until a chunk is finished; return the recording's id and the keys of what is done."""
    for _ in range(6000):
        assert process.poll() is None, process.communicate()
        for folder in home.tracks.glob("[0-9a-f]*"):
            keys = set() if folder.suffix or not folder.is_dir() else closely(home, folder.name)
            if keys:
                return folder.name, keys
        time.sleep(0.05)
    raise AssertionError("no chunk was finished within five minutes")


@pytest.fixture(scope="module")
def killed_and_done(tmp_path_factory: pytest.TempPathFactory) -> tuple[Home, str, dict[str, object], float]:
    """Kill the analysis after its first chunk, analyse again; home, id, JSON printed, and the first chunk's stamp."""
    folder = tmp_path_factory.mktemp("killed")
    home, film = find_home(folder / "home"), every(2, folder / "face.mp4", (1280, 720))
    process = start(home, film)
    recording_id, keys = first_chunk(home, process)
    workers = psutil.Process(process.pid).children(recursive=True)
    os.kill(process.pid, signal.SIGKILL)
    process.communicate()
    _, alive = psutil.wait_procs(workers, timeout=20)
    assert alive == [], "workers outlived the process that started them"
    marker = next(path for path in (home.tracks / recording_id / "done").iterdir() if path.name[0].isdigit())
    stamp = marker.stat().st_mtime
    assert len(keys) == 1
    done = start(home, film).communicate()[0]
    assert marker.stat().st_mtime == stamp, "a finished chunk was done again"
    return home, recording_id, json.loads(done), stamp


def test_killed_analysis_goes_on(killed_and_done: tuple[Home, str, dict[str, object], float]) -> None:
    """After kill -9 and a second run every chunk is done once, and every frame was looked at and found."""
    home, recording_id, _, _ = killed_and_done
    store = TrackStore(home, recording_id)
    tracks = store.open().load()
    assert len(closely(home, recording_id)) == 2
    assert {"sound", "glance:0-276"} < store.done()
    assert (tracks["people_count"].values[tracks["people_state"].values == FOUND] == 1).all()
    assert (tracks["face_state"].values == FOUND).all()
    assert (tracks["hand_state"].values != NOT_LOOKED).all()
    with reading(home) as repo:
        job = repo.job(recording_id)
    assert job is not None
    assert (job.state, job.done, job.total) == ("done", 276, 276)


def test_printed_contract(killed_and_done: tuple[Home, str, dict[str, object], float]) -> None:
    """What `analyse --json` prints has the promised names, and no value without interval or reason."""
    printed = killed_and_done[2]
    assert set(printed) == {"recording", "values", "events", "entries"}
    assert printed["entries"] == []
    recording = printed["recording"]
    assert isinstance(recording, dict)
    assert {"id", "duration_s", "frames", "width_px", "height_px", "rotation_deg"} <= set(recording)
    values, events = printed["values"], printed["events"]
    assert isinstance(values, list)
    assert isinstance(events, list)
    fields = {"measure", "step", "side", "value", "unit", "low", "high", "usable", "reasons", "evidence"}
    for value in values:
        assert set(value) == fields
        assert (value["value"] is None) == (value["low"] is None) == (value["high"] is None)
        assert value["value"] is not None or value["reasons"]
    assert all({"measure", "side", "onset_s", "offset_s", "kind"} <= set(event) for event in events)


def test_held_closure_and_winks_are_on_their_sides(
    killed_and_done: tuple[Home, str, dict[str, object], float],
) -> None:
    """On a rendered face whose truth is known, the wink of each eye is an event of that eye only."""
    events = killed_and_done[2]["events"]
    assert isinstance(events, list)
    closed = [event for event in events if event["measure"] == "eye_closure"]

    def sides_at(time_s: float) -> set[str]:
        return {event["side"] for event in closed if event["onset_s"] <= time_s <= event["offset_s"]}

    assert sides_at(10.0) == {"left", "right"}
    assert sides_at(11.35) == {"left"}
    assert sides_at(12.05) == {"right"}
    assert sides_at(5.0) == set()


def workers_after_the_first_look(home: Home, process: subprocess.Popen[str]) -> list[psutil.Process]:
    """Wait until the first look is done, so that the film is being looked at closely; return the pool's processes."""
    while not list(home.tracks.glob("*/done/glance*")):
        assert process.poll() is None, process.communicate()
        time.sleep(0.05)
    time.sleep(0.5)
    children = [one for one in psutil.Process(process.pid).children() if one.status() != psutil.STATUS_ZOMBIE]
    return [one for one in children if "spawn_main" in " ".join(one.cmdline())]


def test_ctrl_c_finishes_what_is_at_work_and_keeps_it(tmp_path: Path, sparse: Path) -> None:
    """After Ctrl-C the analysis counts as stopped, what was finished is there, and no traceback is printed."""
    home = find_home(tmp_path)
    process = start(home, sparse)
    recording_id, _ = first_chunk(home, process)
    process.send_signal(signal.SIGINT)
    _, said = process.communicate(timeout=120)
    assert process.returncode == 1
    assert "What was finished is kept" in said
    assert "Traceback" not in said
    with reading(home) as repo:
        job = repo.job(recording_id)
        assert repo.leases().holders() == set()
    assert job is not None
    assert job.state == "stopped"
    assert closely(home, recording_id)


@pytest.mark.laptop("workers that are processes of the command; those of a cluster are killed in test_cluster.py")
def test_a_worker_that_dies_costs_nothing_but_its_unit(tmp_path: Path, sparse: Path) -> None:
    """With one worker killed, the unit is done again by another and the analysis ends as if nothing had been."""
    home = find_home(tmp_path)
    process = start(home, sparse)
    workers_after_the_first_look(home, process)[0].kill()
    printed, said = process.communicate(timeout=300)
    assert process.returncode == 0, said
    assert "Traceback" not in said
    tracks = TrackStore(home, json.loads(printed)["recording"]["id"]).open()
    assert (tracks["face_state"].values == FOUND).all()
