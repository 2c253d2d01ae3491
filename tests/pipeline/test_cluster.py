"""Units of work on a cluster of real processes: what is lost is done again, what is not like us is not used."""

from __future__ import annotations

import math
import os
import time
from collections.abc import Iterator
from concurrent.futures import BrokenExecutor
from pathlib import Path

import pytest

from review.actions.recordings import add
from review.domain.errors import WorkersAway
from review.pipeline import dispatch
from review.pipeline.cluster import Cluster
from review.pipeline.dispatch import Dispatcher
from review.store.home import Home
from review.store.repository import reading
from review.store.settings import SETTINGS_FILE
from review.store.trackstore import TrackStore
from tests.cluster import Machines, running
from tests.films import even_times, make_film, numbered
from tests.homes import learners_home

pytestmark = pytest.mark.server

_PATIENCE_S = 60.0


@pytest.fixture
def home(tmp_path: Path) -> Home:
    """Make a home."""
    made, _ = learners_home(tmp_path / "home")
    return made


@pytest.fixture
def machines(tmp_path: Path) -> Iterator[Machines]:
    """Start a scheduler and two workers."""
    with running(tmp_path / "cluster", "one", "two") as found:
        yield found


@pytest.fixture
def cluster(home: Home, machines: Machines) -> Iterator[Cluster]:
    """Join the cluster."""
    made = Cluster(home, machines.address)
    yield made
    made.shutdown()


def test_units_are_done_elsewhere_and_errors_come_back(cluster: Cluster) -> None:
    """Results and errors are those of the unit; each worker is given one more than it does."""
    assert cluster.capacity() == 4
    done = [cluster.submit(math.factorial, number) for number in range(6)]
    assert [one.result(_PATIENCE_S) for one in done] == [1, 1, 2, 6, 24, 120]
    assert cluster.submit(os.getpid).result(_PATIENCE_S) != os.getpid()
    error = cluster.submit(math.factorial, -1).exception(_PATIENCE_S)
    assert isinstance(error, ValueError)


def test_a_worker_that_dies_costs_time_alone(cluster: Cluster, machines: Machines) -> None:
    """What it was at is done by another."""
    assert cluster.capacity() == 4
    done = [cluster.submit(time.sleep, 4.0) for _ in range(2)]
    time.sleep(1.0)
    machines.kill(machines.workers["one"])
    assert [one.result(_PATIENCE_S) for one in done] == [None, None]
    assert len(cluster.who()[0]) == 1


def test_a_unit_that_ends_its_process_does_not_end_the_worker(cluster: Cluster) -> None:
    """It comes back as what a broken pool says, as on one machine, and the next one is done."""
    assert cluster.capacity() == 4
    for _ in range(2):
        assert isinstance(cluster.submit(os._exit, 3).exception(_PATIENCE_S), BrokenExecutor)
    assert [cluster.submit(math.factorial, 4).result(_PATIENCE_S) for _ in range(4)] == [24] * 4
    assert len(cluster.who()[0]) == 2


def test_without_a_scheduler_work_waits(cluster: Cluster, machines: Machines) -> None:
    """What was handed out comes back, nothing can be handed out, and it goes on once the scheduler is there again."""
    assert cluster.capacity() == 4
    done = cluster.submit(time.sleep, 4.0)
    machines.kill(machines.scheduler)
    assert isinstance(done.exception(_PATIENCE_S), WorkersAway)
    with pytest.raises(WorkersAway, match="cannot be used"):
        cluster.who()
    assert cluster.capacity() == 0
    with pytest.raises(WorkersAway):
        cluster.submit(time.sleep, 4.0)
    machines.start_scheduler()
    machines.start_worker("three")
    machines.ready(1)
    assert len(cluster.who()[0]) == 1
    assert cluster.submit(math.factorial, 4).result(_PATIENCE_S) == 24


@pytest.mark.filterwarnings("ignore::distributed.versions.VersionMismatchWarning")
def test_a_worker_that_is_not_like_us_is_not_used(
    cluster: Cluster, machines: Machines, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    """Another version of what computes the numbers is told by name, and gets nothing to do."""
    (tmp_path / "other" / "numpy-9.9.9.dist-info").mkdir(parents=True)
    (tmp_path / "other" / "numpy-9.9.9.dist-info" / "METADATA").write_text("Name: numpy\nVersion: 9.9.9\n")
    machines.start_worker("odd", {"PYTHONPATH": str(tmp_path / "other")})
    machines.ready(3)
    fit, unfit = cluster.who()
    assert len(fit) == 2
    (why,) = unfit.values()
    assert why.startswith("numpy is 9.9.9, expected ")
    assert "is not used: numpy is 9.9.9" in caplog.text
    assert cluster.capacity() == 4


def test_a_film_is_analysed_through_the_loss_of_all_machines(
    home: Home, machines: Machines, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Scheduler and workers die in the middle and others come: the film ends done, as if nothing had been."""
    monkeypatch.setattr(dispatch, "film_values", lambda tracks, recording_id: ())
    (home.root / SETTINGS_FILE).write_text(f'cluster = "{machines.address}"\n', "utf-8")
    path = make_film(tmp_path / "film.mp4", even_times(32, 1.0), picture=lambda frame: numbered(frame))
    with reading(home) as repo:
        learner = repo.person("L-07")
    recording = add(home, learner, path)
    units: list[int] = []

    def told(recording_id: str, done: int, total: int) -> None:
        units.append(done)
        if len(units) == 2:
            for process in (machines.scheduler, *machines.workers.values()):
                machines.kill(process)
            machines.start_scheduler()
            machines.start_worker("three")

    Dispatcher(home, told=told).run()
    with reading(home) as repo:
        (job,) = repo.jobs()
        assert (job.state, job.message) == ("done", "")
        assert repo.leases().holders() == set()
    looked = TrackStore(home, recording.id).open()
    assert (looked["pose_state"] != 0).any()
    assert len(units) > 4
