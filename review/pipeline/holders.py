"""Names of the processes that hold leases, by which it can be told whether they still live."""

from __future__ import annotations

import os
import socket
from pathlib import Path


def this_holder() -> str:
    """Return a name for this process that no other has, not even a later one with the same number."""
    return f"{socket.gethostname()}/{os.getpid()}/{_started(os.getpid())}"


def alive(holder: str) -> bool:
    """Tell whether a process may still live: those of other machines may."""
    host, number, started = (*holder.rsplit("/", 2), "", "")[:3]
    if host != socket.gethostname() or not number.isdecimal():
        return True
    try:
        os.kill(int(number), 0)
    except ProcessLookupError:
        return False
    except PermissionError:
        return True
    return _started(int(number)) == started


def _started(number: int) -> str:
    """Return when a process began, in the system's ticks, where the system tells; a zombie counts as never."""
    try:
        text = Path(f"/proc/{number}/stat").read_text("ascii", "replace")
    except OSError:
        return ""
    fields = text.rpartition(")")[2].split()
    return "" if fields[0] == "Z" else fields[19]
