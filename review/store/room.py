"""Whether a home may grow: what it holds, the quota set for it, and what is free on its disk."""

from __future__ import annotations

import errno
import os
import shutil
from contextlib import suppress
from typing import Final

from review.domain.errors import EntryRefused
from review.store.home import Home

QUOTA_VARIABLE: Final = "RUNTHROUGH_QUOTA_GB"
"""Environment variable: how many gigabytes (1e9 bytes) a home may hold; unset or empty means no quota."""

SPARE_BYTES: Final = 256 * 1024 * 1024
"""What stays free on the disk whatever comes in."""

FULL: Final = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG})
"""Numbers of the system's faults that mean: no room."""


def quota_bytes() -> int | None:
    """Return the quota, or None without one.

    Raises
    ------
    EntryRefused
        If the environment's value is no positive number.
    """
    text = os.environ.get(QUOTA_VARIABLE, "").strip()
    if not text:
        return None
    try:
        gigabytes = float(text)
    except ValueError:
        gigabytes = float("nan")
    if not 0 < gigabytes < 1e9:
        raise EntryRefused(f"{QUOTA_VARIABLE}={text[:20]} came; expected a number of gigabytes above 0, such as 50.")
    return round(gigabytes * 1e9)


def held_bytes(home: Home) -> int:
    """Return how many bytes all files of a home have; one that vanishes meanwhile counts nothing."""
    total = 0
    for folder, _, names in os.walk(home.root):
        for name in names:
            with suppress(OSError):
                total += os.lstat(os.path.join(folder, name)).st_size
    return total


def no_room(home: Home, more_bytes: int) -> str | None:
    """Say in one sentence why a home cannot take so many bytes more; None if it can."""
    free = shutil.disk_usage(home.incoming).free
    if free < more_bytes + SPARE_BYTES:
        return (
            f"The disk with {home.root} is nearly full: {_gigabytes(free)} are free, and "
            f"{_gigabytes(more_bytes + SPARE_BYTES)} are needed. Make room, then choose the film again."
        )
    quota = quota_bytes()
    if quota is None:
        return None
    held = held_bytes(home)
    if held + more_bytes <= quota:
        return None
    return (
        f"Runthrough may hold {_gigabytes(quota)} here ({QUOTA_VARIABLE}) and holds {_gigabytes(held)}; this film "
        f"needs {_gigabytes(more_bytes)} more. Erase a recording or raise the quota, then choose the film again."
    )


def _gigabytes(count: int) -> str:
    return f"{count / 1e9:.2f} GB"
