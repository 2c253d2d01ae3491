"""Whether an analysis is really at work, whatever its row says."""

from __future__ import annotations

import os
from dataclasses import replace
from datetime import UTC, datetime
from typing import Final

from review.domain.model import Recording
from review.store.repository import Job, Repository

INTERRUPTED: Final = "Stopped before the end; what was finished is kept and the rest goes on when analysed again."
"""What is said of an analysis that ended before it was done."""


UNFINISHED: Final = ("waiting", "running")
"""States of an analysis that is in the queue."""


def put_in_queue(repo: Repository, recording: Recording) -> None:
    """Put a recording into the queue of what is analysed, unless it is there already."""
    job = repo.job(recording.id)
    if job is None or job.state not in UNFINISHED:
        repo.leases().forget(recording.id)
        done = 0 if job is None else job.done
        repo.put_job(Job(recording.id, "waiting", done, recording.frames, "", datetime.now(UTC)))


def take_from_queue(repo: Repository, recording_id: str) -> None:
    """Take a recording out of the queue; what is at work is finished and kept."""
    job = repo.job(recording_id)
    if job is not None and job.state in UNFINISHED:
        repo.put_job(replace(job, state="stopped", message=INTERRUPTED, at=datetime.now(UTC), left_s=None, stage=""))


def at_work(job: Job | None) -> bool:
    """Tell whether a job is running in a process that still lives."""
    if job is None or job.state != "running" or job.pid is None:
        return False
    try:
        os.kill(job.pid, 0)
    except ProcessLookupError:
        return False
    except PermissionError:
        return True
    return True
