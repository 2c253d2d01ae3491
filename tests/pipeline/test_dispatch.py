"""The queue: nothing is done twice, recordings take turns, and a film that fails does not hold up the others."""

from __future__ import annotations

import os
from concurrent.futures import Future, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest

from review.actions.recordings import add, start_analysis, stop_analysis
from review.domain.errors import WorkerLost
from review.domain.model import Person, Recording
from review.pipeline import desk, dispatch, orders
from review.pipeline.dispatch import Dispatcher
from review.pipeline.holders import alive, this_holder
from review.store.home import Home
from review.store.repository import reading, repository
from review.store.settings import settings_of
from review.store.track_vault import ARCHIVE
from review.store.trackstore import TrackStore
from tests.films import even_times, make_film, numbered
from tests.homes import learners_home
from tests.s3 import S3


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Home:
    """Make a home with the packaged sheets, in which nothing is computed of what was seen: that is tested elsewhere."""
    monkeypatch.setattr(dispatch, "film_values", lambda tracks, recording_id: ())
    monkeypatch.setattr(dispatch, "look", lambda home, recording_id, sheet, values: None)
    home, _ = learners_home(tmp_path / "home")
    return home


def _learner(home: Home) -> Person:
    with reading(home) as repo:
        return repo.person("L-07")


def _film(home: Home, tmp_path: Path, number: int, seconds: int = 32) -> Recording:
    """Add a film of nobody: at one frame a second it has some units and costs little."""
    path = tmp_path / f"film{number}.mp4"

    def picture(frame: int) -> npt.NDArray[np.uint8]:
        return numbered((number + frame) % 256)

    return add(home, _learner(home), make_film(path, even_times(seconds, 1.0), picture=picture))


class _Counting(ThreadPoolExecutor):
    """Counts the units that are handed to it, by film, in order."""

    def __init__(self) -> None:
        super().__init__(2)
        self.units: list[tuple[str, str]] = []

    def submit(self, work: Any, /, *args: Any, **more: Any) -> Future[Any]:
        order = args[0]
        self.units.append((order.film.parent.name[:12], order.chunk.key))
        return super().submit(work, *args, **more)


def test_recordings_take_turns_and_every_unit_is_done_once(home: Home, tmp_path: Path) -> None:
    """Of two films that wait, neither is finished before the other has been begun, and no unit comes twice."""
    both = [_film(home, tmp_path, number).id for number in (1, 2)]
    with _Counting() as pool:
        Dispatcher(home, executor=pool).run()
    assert len(pool.units) == len(set(pool.units))
    order = [recording_id for recording_id, _ in pool.units]
    assert set(order) == set(both)
    first_end = min(max(place for place, name in enumerate(order) if name == one) for one in both)
    assert all(one in order[:first_end] for one in both)
    with reading(home) as repo:
        assert {job.state for job in repo.jobs()} == {"done"}
        assert repo.leases().holders() == set()


def test_two_processes_share_the_units_of_one_film(home: Home, tmp_path: Path) -> None:
    """Two dispatchers on one home at once do every unit once between them, and both end."""
    _film(home, tmp_path, 1, seconds=64)
    with _Counting() as one, _Counting() as other, ThreadPoolExecutor(2) as both:
        holders = [Dispatcher(home, executor=pool, holder=name) for pool, name in ((one, "a"), (other, "b"))]
        for done in [both.submit(holder.run) for holder in holders]:
            done.result(timeout=120)
    units = one.units + other.units
    assert len(units) == len(set(units)) >= 8
    assert one.units
    assert other.units


def test_a_film_that_was_stopped_is_left_alone_until_it_is_asked_for_again(home: Home, tmp_path: Path) -> None:
    """Stopping takes it out of the queue; asking again goes on with what is missing only."""
    recording = _film(home, tmp_path, 1)
    stop_analysis(home, _learner(home), recording.id)
    with _Counting() as pool:
        Dispatcher(home, executor=pool).run()
        assert pool.units == []
        start_analysis(home, _learner(home), recording.id)
        Dispatcher(home, executor=pool).run()
    assert len(pool.units) == len(set(pool.units)) > 0
    with reading(home) as repo:
        assert [job.state for job in repo.jobs()] == ["done"]


class _Dying(_Counting):
    """Loses its workers whenever a certain unit is begun."""

    def submit(self, work: Any, /, *args: Any, **more: Any) -> Future[Any]:
        if args[0].chunk.stage > 0:
            self.units.append((args[0].film.parent.name[:12], args[0].chunk.key))
            lost: Future[Any] = Future()
            lost.set_exception(BrokenProcessPool("gone"))
            return lost
        return super().submit(work, *args, **more)


def test_a_unit_that_kills_its_workers_is_tried_three_times_and_then_the_film_has_failed(
    home: Home, tmp_path: Path
) -> None:
    """The film says so in one sentence; what was finished before stays."""
    recording = _film(home, tmp_path, 1)
    with _Dying() as pool:
        dispatcher = Dispatcher(home, executor=pool)
        dispatcher.run()
    assert isinstance(dispatcher.fault_of(recording.id), WorkerLost)
    tried = [key for _, key in pool.units if not key.startswith(("glance", "sound"))]
    assert max(tried.count(key) for key in tried) == dispatch.MOST_TRIES
    with reading(home) as repo:
        job = repo.job(recording.id)
    assert job is not None
    assert job.state == "failed"
    assert "three times" in job.message
    assert "sound" in TrackStore(home, recording.id).done()


class _Broken(_Counting):
    """A pool whose worker has died before anything was handed to it."""

    def submit(self, work: Any, /, *args: Any, **more: Any) -> Future[Any]:
        raise BrokenProcessPool("gone")


@pytest.mark.laptop("the pool of a process of its own; a cluster that goes is told by test_cluster.py")
def test_a_pool_that_broke_between_two_units_is_made_anew(
    home: Home, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A worker that dies between two units costs nothing; a pool that was given from outside is not replaced."""
    recording = _film(home, tmp_path, 1)
    with _Broken() as broken, _Counting() as whole:
        with pytest.raises(BrokenProcessPool):
            Dispatcher(home, executor=broken).run()
        pools = iter([broken, whole])
        monkeypatch.setattr(dispatch, "local_pool", lambda: next(pools))
        Dispatcher(home).run()
    assert len(whole.units) == len(set(whole.units)) > 0
    with reading(home) as repo:
        job = repo.job(recording.id)
        assert job is not None
        assert job.state == "done"
        assert repo.leases().holders() == set()


def test_what_a_dead_process_held_is_taken_by_another_at_once(home: Home, tmp_path: Path) -> None:
    """A lease whose holder does not live any more holds nobody up, though it has not run out."""
    recording = _film(home, tmp_path, 1)
    host, _, _ = this_holder().rsplit("/", 2)
    with repository(home) as repo:
        soon = repo.jobs()[0].at
        assert repo.leases().take(recording.id, "sound", f"{host}/999999999/1", soon, 3600) == 1
    with _Counting() as pool:
        Dispatcher(home, executor=pool).run()
    assert (recording.id, "sound") in pool.units


def test_holders_are_told_apart_from_later_processes_of_the_same_number() -> None:
    """The process itself lives; one that began at another moment, or was never there, does not; other machines may."""
    host, number, started = this_holder().rsplit("/", 2)
    assert int(number) == os.getpid()
    assert alive(this_holder())
    assert not alive(f"{host}/{number}/{int(started) + 1}")
    assert not alive(f"{host}/999999999/1")
    assert alive("another-machine/1/1")


def test_a_film_that_fails_does_not_keep_the_others_waiting(
    home: Home, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A fault in a unit of one film fails that film with its words; the other is analysed."""
    bad, good = (_film(home, tmp_path, number) for number in (1, 2))
    real = orders.work

    def work(order: orders.Order) -> orders.Seen:
        if bad.id in order.film.parent.name:
            raise ValueError("a made-up fault")
        return real(order)

    monkeypatch.setattr(dispatch, "work", work)
    with _Counting() as pool:
        Dispatcher(home, executor=pool).run()
    with reading(home) as repo:
        jobs = {job.recording_id: job for job in repo.jobs()}
    assert jobs[bad.id].state == "failed"
    assert "a made-up fault" in jobs[bad.id].message
    assert jobs[good.id].state == "done"


@pytest.mark.parametrize("where", ["order", "keep", "settle"])
def test_a_fault_while_giving_out_keeping_or_settling_fails_that_film_only(
    home: Home, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, where: str
) -> None:
    """A film out of reach, a full disk, a fault in the last step: that film fails, the queue goes on to its end."""
    bad, good = (_film(home, tmp_path, number) for number in (1, 2))
    real = getattr(desk.Desk, where)

    def breaking(self: desk.Desk, *given: Any) -> Any:
        if self.recording.id == bad.id:
            raise OSError("no room, made up")
        return real(self, *given)

    monkeypatch.setattr(desk.Desk, where, breaking)
    with _Counting() as pool:
        Dispatcher(home, executor=pool).run()
    with reading(home) as repo:
        jobs = {job.recording_id: job for job in repo.jobs()}
        assert repo.leases().holders() == set()
    assert (jobs[bad.id].state, jobs[good.id].state) == ("failed", "done")
    assert "no room, made up" in jobs[bad.id].message


@pytest.mark.server
@pytest.mark.parametrize("there", [True, False])
def test_what_was_seen_goes_into_the_bucket_at_the_end(
    home: Home, tmp_path: Path, s3: S3, caplog: pytest.LogCaptureFixture, there: bool
) -> None:
    """Out of the bucket's reach the film is done all the same, and the log says what to do, without naming it."""
    bucket = s3.bucket()
    s3.settle(home, bucket if there else "never-made")
    settings_of.cache_clear()
    recording = _film(home, tmp_path, 1)
    with _Counting() as pool:
        Dispatcher(home, executor=pool).run()
    with reading(home) as repo:
        assert [job.state for job in repo.jobs()] == ["done"]
    said = [record.message for record in caplog.records if record.name == dispatch.__name__]
    assert any(key.endswith(ARCHIVE) for key in s3.keys(bucket)) == there
    assert [("runthrough bucket" in one, recording.id in one) for one in said] == [(True, False)] * (not there)
