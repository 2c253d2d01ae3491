"""Analyse a recording: look at every chunk that is not done yet, and keep what was seen."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Mapping
from concurrent.futures import BrokenExecutor, Executor, Future, as_completed
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.capture.landmarker import Look, look
from review.capture.loudness import sound_tracks
from review.capture.models import find_models
from review.domain.errors import AlreadyAtWork, RunthroughError, WorkerLost
from review.domain.model import Recording
from review.domain.tracks import empty_tracks
from review.measures import registry
from review.pipeline.executors import local_pool, usable_cores
from review.pipeline.jobs import INTERRUPTED, at_work
from review.pipeline.plan import Chunk, plan, rates, sound_chunk
from review.pipeline.values import film_values
from review.store.home import Home
from review.store.media import load_times
from review.store.repository import Job, reading, repository
from review.store.rows import JobState
from review.store.trackstore import TrackStore

Progress = Callable[[int, int], None]
"""Called with the frames done and the frames in all."""


def analyse(
    home: Home,
    recording: Recording,
    *,
    executor: Executor | None = None,
    models_folder: Path | None = None,
    progress: Progress | None = None,
) -> xr.Dataset:
    """Compute the tracks of a recording, or what is still missing of them.

    Chunks that were finished earlier are not done again, so that an interrupted analysis goes on where it was. Tracks
    that another version of Runthrough laid out are computed anew.

    Parameters
    ----------
    home
        Home folder in which the recording is kept.
    recording
        The recording.
    executor
        Where the chunks are computed; by default a pool of processes on this machine, closed at the end.
    models_folder
        Folder with the model files, if not those of the installed package.
    progress
        Told of every finished chunk.

    Returns
    -------
    xarray.Dataset
        The tracks (see `review.domain.tracks`).

    Raises
    ------
    ModelRefused
        If a landmark model is missing or not the expected one.
    AlreadyAtWork
        If another process analyses this recording just now.
    """
    find_models(models_folder)
    _expect_alone(home, recording)
    times = load_times(home, recording.sha256)
    chunks = plan(times / recording.slow_motion, rates(registry().values()))
    chunks += (sound_chunk(len(times)),)
    tracks = TrackStore(home, recording.id)
    if tracks.outdated():
        tracks.erase()
    if not tracks.exists():
        size = (recording.width_px, recording.height_px)
        tracks.create(empty_tracks(times, *size, recording.partner_height_mm, recording.slow_motion))
    waiting = [chunk for chunk in chunks if chunk.key not in tracks.done()]
    report = _Reporter(home, recording, sum(chunk.frames for chunk in chunks), waiting, progress)
    with report:
        if waiting:
            orders = [(chunk, _order(home, recording, chunk, models_folder)) for chunk in waiting]
            pool = executor or local_pool(processes=min(len(waiting), usable_cores()))
            try:
                submitted = {pool.submit(_work, order, recording, times): chunk for chunk, order in orders}
                _keep_all(submitted, tracks, report)
            finally:
                if executor is None:
                    pool.shutdown(wait=True, cancel_futures=True)
        found = tracks.open()
        values = film_values(found.load(), recording.id)
        with repository(home) as repo:
            repo.put_values(recording.id, None, values)
    return found


def _expect_alone(home: Home, recording: Recording) -> None:
    with reading(home) as repo:
        job = repo.job(recording.id)
    if at_work(job) and job is not None and job.pid != os.getpid():
        raise AlreadyAtWork(
            f"{recording.name} is being analysed already, by process {job.pid}; wait for it, or stop that process and "
            "analyse again: what it finished is kept."
        )


def _order(home: Home, recording: Recording, chunk: Chunk, models_folder: Path | None) -> Look:
    film = home.root / recording.original
    return Look(film, chunk.first, chunk.stop, chunk.wanted, recording.mirrored, models_folder)


def _work(order: Look, recording: Recording, times: npt.NDArray[np.float64]) -> xr.Dataset:
    size = (recording.width_px, recording.height_px)
    if any(stream == "sound" for stream, _ in order.wanted):
        return sound_tracks(order.film, times, *size)
    return look(order, times, *size)


def _keep_all(submitted: dict[Future[xr.Dataset], Chunk], tracks: TrackStore, report: _Reporter) -> None:
    """Write every chunk as it comes; after a failure or Ctrl-C, what is at work is finished and kept first."""
    failure: BaseException | None = None
    waiting = dict(submitted)
    while waiting:
        try:
            for future in as_completed(list(waiting)):
                failure = _keep(future, waiting[future], tracks, report) or failure
                del waiting[future]
                if failure is not None:
                    _drop(waiting)
        except KeyboardInterrupt as stop:
            if isinstance(failure, KeyboardInterrupt):
                raise
            failure = stop
            _drop(waiting)
    if failure is not None:
        raise failure


def _drop(waiting: Mapping[Future[xr.Dataset], Chunk]) -> None:
    """Cancel the chunks that nobody has begun with."""
    for future in waiting:
        future.cancel()


def _keep(future: Future[xr.Dataset], chunk: Chunk, tracks: TrackStore, report: _Reporter) -> BaseException | None:
    """Write a finished chunk and mark it done; return its failure instead, if it has one."""
    if future.cancelled():
        return None
    error = future.exception()
    if isinstance(error, BrokenExecutor):
        return WorkerLost(
            "A process that analysed the film ended before its time (memory may have run out, or it was stopped). What "
            "was finished is kept; analyse again to go on."
        )
    if error is None:
        tracks.write(chunk.first, future.result(), [stream for stream, _ in chunk.wanted])
        tracks.mark_done(chunk.key)
        report.finished(chunk)
    return error


class _Reporter:
    """Keeps the job's row and the caller's progress up to date, whatever happens inside."""

    def __init__(
        self, home: Home, recording: Recording, total: int, waiting: Iterable[Chunk], progress: Progress | None
    ) -> None:
        self._home = home
        self._recording = recording
        self._total = total
        self._done = total - sum(chunk.frames for chunk in waiting)
        self._progress = progress

    def __enter__(self) -> None:
        self._put("running", "")

    def finished(self, chunk: Chunk) -> None:
        self._done += chunk.frames
        self._put("running", "")

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: object) -> None:
        if error is None:
            self._put("done", "")
        elif isinstance(error, KeyboardInterrupt):
            self._put("stopped", INTERRUPTED)
        else:
            self._put("failed", str(error) if isinstance(error, RunthroughError) else f"{kind}: {error}")

    def _put(self, state: JobState, message: str) -> None:
        job = Job(self._recording.id, state, self._done, self._total, message, datetime.now(UTC), os.getpid())
        with repository(self._home) as repo:
            repo.put_job(job)
        if self._progress:
            self._progress(self._done, self._total)
