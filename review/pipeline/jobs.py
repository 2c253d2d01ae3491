"""Whether an analysis is really at work, whatever its row says."""

from __future__ import annotations

import os
from typing import Final

from review.store.repository import Job

INTERRUPTED: Final = "Stopped before the end; what was finished is kept and the rest goes on when analysed again."
"""What is said of an analysis that ended before it was done."""


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
