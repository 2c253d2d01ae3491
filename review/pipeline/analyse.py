"""Analyse one recording here and now: look at what is not looked at yet, and keep what was seen."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Executor
from pathlib import Path

import xarray as xr

from review.capture.models import find_models
from review.domain.errors import InputError
from review.domain.model import Recording
from review.pipeline.dispatch import Dispatcher
from review.pipeline.jobs import put_in_queue, take_from_queue
from review.store.home import Home
from review.store.repository import reading, repository
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
    """Compute the tracks of a recording, or what is still missing of them, and its values.

    Units of work that were finished earlier are not done again, so that an interrupted analysis goes on where it was;
    those that another process is at are left to it. Tracks that another version of Runthrough laid out are computed
    anew.

    Parameters
    ----------
    home
        Home folder in which the recording is kept.
    recording
        The recording.
    executor
        Where the units are done; by default a pool of processes on this machine, closed at the end.
    models_folder
        Folder with the model files, if not those of the installed package.
    progress
        Told of every finished unit.

    Returns
    -------
    xarray.Dataset
        The tracks (see `review.domain.tracks`); their numbers are read from the disk when asked for.

    Raises
    ------
    ModelRefused
        If a landmark model is missing or not the expected one.
    FilmRefused
        If the film cannot be read any more.
    WorkerLost
        If a worker ended before its time again and again.
    InputError
        If the analysis was stopped by somebody else.
    """
    find_models(models_folder)
    ask(home, recording)
    tell = progress or (lambda done, total: None)
    dispatcher = Dispatcher(
        home, (recording.id,), models_folder, executor, lambda recording_id, done, total: tell(done, total)
    )
    try:
        dispatcher.run()
    except KeyboardInterrupt:
        stop(home, recording.id)
        raise
    fault = dispatcher.fault_of(recording.id)
    if fault is not None:
        raise fault
    with reading(home) as repo:
        job = repo.job(recording.id)
    if job is None or job.state != "done":
        why = "it was erased" if job is None else job.message or job.state
        raise InputError(f"The analysis of {recording.name} did not come to its end: {why}")
    return TrackStore(home, recording.id).open()


def ask(home: Home, recording: Recording) -> None:
    """Put a recording into the queue, unless it is there already."""
    with repository(home) as repo:
        put_in_queue(repo, recording)


def stop(home: Home, recording_id: str) -> None:
    """Take a recording out of the queue; what is at work is finished and kept."""
    with repository(home) as repo:
        take_from_queue(repo, recording_id)
