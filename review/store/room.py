"""Whether a home may grow: what it holds, the quota set for it, and what is free on its disk."""

from __future__ import annotations

import errno
import math
import os
import shutil
import time
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Final

from review.domain.errors import EntryRefused, InputError
from review.store.home import Home

QUOTA_VARIABLE: Final = "RUNTHROUGH_QUOTA_GB"
"""Environment variable: how many gigabytes (1e9 bytes) a home may hold; unset or empty means no quota."""

SPARE_BYTES: Final = 256 * 1024 * 1024
"""What stays free on the disk whatever comes in."""

_TRACKS_BYTES_A_MINUTE: Final = 1_400_000
_COUNTED_FOR_S: Final = 3.0
_COUNTED: Final[dict[Hashable, tuple[float, int]]] = {}

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
    """Return how many bytes all files of a home have, counted as by `bytes_below`."""
    return bytes_below([home.root])


def bytes_below(places: Iterable[Path]) -> int:
    """Return how many bytes some files, and all files in some folders, have.

    A file under two names counts once, one that vanishes meanwhile nothing.
    """
    total = 0
    twice: set[tuple[int, int]] = set()
    for file in _files_of(places):
        with suppress(OSError):
            found = os.lstat(file)
            if found.st_nlink == 1 or (found.st_dev, found.st_ino) not in twice:
                total += found.st_size
                twice.add((found.st_dev, found.st_ino))
    return total


def _files_of(places: Iterable[Path]) -> Iterator[str]:
    for place in places:
        if place.is_file():
            yield str(place)
        for folder, _, names in os.walk(place):
            yield from (os.path.join(folder, name) for name in names)


def no_room(home: Home, more_bytes: int) -> str | None:
    """Say in one sentence why a home cannot take so many bytes more; None if it can.

    What the home holds is counted anew after `_COUNTED_FOR_S` seconds only, so that this may be asked for every slice
    of an upload; tell `grown` of those that were taken.
    """
    short = _shortage(home, more_bytes, _held_lately)
    return None if short is None else f"{short}, then choose the film again."


def grown(home: Home, more_bytes: int) -> None:
    """Note that a home holds so many bytes more, until it is counted anew."""
    known = _COUNTED.get(home.root)
    if known is not None:
        _COUNTED[home.root] = (known[0], known[1] + more_bytes)


def expect_room(home: Home, name: str, parts: Mapping[str, int], again: str = "add it again") -> None:
    """Go on only if a home has room for a film and all that is made of it.

    Parameters
    ----------
    home
        The home.
    name
        The film's name.
    parts
        Bytes needed, by what they are needed for in plain words.
    again
        What to do once there is room, in words that follow "then".

    Raises
    ------
    InputError
        If it has not; the message says how much each part needs and what is there.
    """
    short = _shortage(home, sum(parts.values()), held_bytes)
    if short is not None:
        listed = ", ".join(f"{words} {size_words(count)}" for words, count in parts.items() if count)
        raise InputError(f"There is no room for {name} ({listed}). {short}, then {again}. Nothing was written.")


def tracks_bytes(duration_s: float) -> int:
    """Return how many bytes the tracks of a film take, as measured on films of one person at 30 frames a second."""
    return round(_TRACKS_BYTES_A_MINUTE * duration_s / 60)


def _shortage(home: Home, more_bytes: int, held_by: Callable[[Home], int]) -> str | None:
    free, needed = shutil.disk_usage(home.incoming).free, more_bytes + SPARE_BYTES
    if free < needed:
        return (
            f"The disk with {home.root} is nearly full: {size_words(free)} are free, and {size_words(needed)} "
            "are needed. Make room"
        )
    quota = quota_bytes()
    if quota is None:
        return None
    held = held_by(home)
    if held + more_bytes <= quota:
        return None
    return (
        f"Runthrough may hold {size_words(quota)} here ({QUOTA_VARIABLE}) and holds {size_words(held)}; this film "
        f"needs {size_words(more_bytes)} more. Erase a recording or raise the quota"
    )


def _held_lately(home: Home) -> int:
    return counted_lately(home.root, lambda: held_bytes(home))


def counted_lately(what: Hashable, count: Callable[[], int]) -> int:
    """Return a number of bytes as it was counted at most `_COUNTED_FOR_S` seconds ago."""
    moment, found = _COUNTED.get(what, (-math.inf, 0))
    if time.monotonic() - moment > _COUNTED_FOR_S:
        moment, found = time.monotonic(), count()
        _COUNTED[what] = (moment, found)
    return found


def size_words(count: int) -> str:
    """Say how much a number of bytes is, in GB (1e9 bytes) or MB."""
    return f"{count / 1e9:.2f} GB" if count >= 1e9 else f"{max(count, 1e5) / 1e6:.1f} MB"
