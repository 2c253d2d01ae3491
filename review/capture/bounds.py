"""What a process that reads films may take: films come from anywhere, and a crafted one asks for all there is."""

from __future__ import annotations

import contextlib
import math
import os
import sys
import time
from pathlib import Path
from typing import Final

if sys.platform != "win32":
    import resource

_GIB: Final = 1 << 30

MOST_BYTES: Final = 8 * _GIB
"""Memory for data. Measured on two cores for HEVC of 10 bit, with its new encoding: 1.8 GB for 3840 x 2160 pixels, 5.4
GB for 7680 x 4320."""


def memory_here(most_bytes: int = MOST_BYTES) -> int:
    """Return what one process may take on this machine: `most_bytes`, or three quarters of its memory if less."""
    return min(most_bytes, 3 * _machine_bytes() // 4)


def bound_memory(memory_bytes: int) -> None:
    """Limit the memory of this process (Linux), for good; when the machine runs out of it, this process ends first.

    Windows has no such limits; macOS knows the one of memory and does not keep it.
    """
    if sys.platform == "win32":
        return
    for what, limit in ((resource.RLIMIT_DATA, memory_bytes), (resource.RLIMIT_CORE, 0)):
        hard = resource.getrlimit(what)[1]
        lower = limit if hard == resource.RLIM_INFINITY else min(limit, hard)
        with contextlib.suppress(ValueError, OSError):
            resource.setrlimit(what, (lower, lower))
    with contextlib.suppress(OSError):
        Path("/proc/self/oom_score_adj").write_text("1000")


def bound_computing(seconds: float) -> None:
    """Let the system end this process with SIGXCPU once it has computed so long, on every core, from now on."""
    if sys.platform == "win32":
        return
    until = math.ceil(time.process_time() + seconds * (os.cpu_count() or 1))
    hard = resource.getrlimit(resource.RLIMIT_CPU)[1]
    lower = until if hard == resource.RLIM_INFINITY else min(until, hard)
    with contextlib.suppress(ValueError, OSError):
        resource.setrlimit(resource.RLIMIT_CPU, (lower, hard))


def _machine_bytes() -> int:
    """Return the memory of this machine, or a number no limit reaches where it cannot be told."""
    try:
        return os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE")
    except (AttributeError, ValueError, OSError):
        return sys.maxsize // 4
