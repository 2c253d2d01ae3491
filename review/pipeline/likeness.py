"""Whether a process on another machine is like this one: the same code, the same libraries, the same folder."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from functools import cache
from hashlib import sha256
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Final

import review

_LIBRARIES: Final = ("av", "distributed", "faster-whisper", "mediapipe", "numpy", "opencv-python", "xarray")
"""What computes the numbers, or carries them from one process to another."""


def likeness(shared: Path) -> dict[str, str]:
    """Return what two processes must have alike so that it is all one which of them does a unit of work.

    Parameters
    ----------
    shared
        A file in the home; what stands in it tells whether both see the same folder.
    """
    found = {name: _version(name) for name in _LIBRARIES}
    found["Python"] = f"{sys.version_info[0]}.{sys.version_info[1]}"
    found["the program's code"] = code()
    found[f"the folder {shared.parent}"] = _content(shared)
    return found


def apart(mine: Mapping[str, str], other: Mapping[str, str]) -> list[str]:
    """Return in words what is not alike.

    Examples
    --------
    >>> apart({"numpy": "2.4.1", "Python": "3.11"}, {"numpy": "2.3.0", "Python": "3.11"})
    ['numpy is 2.3.0, expected 2.4.1']
    """
    return [
        f"{name} is {other.get(name, 'not told')}, expected {mine[name]}"
        for name in mine
        if other.get(name) != mine[name]
    ]


@cache
def code() -> str:
    """Return the beginning of a digest of the program's own source."""
    digest = sha256()
    root = Path(review.__file__).parent
    for path in sorted(root.rglob("*.py")):
        digest.update(path.relative_to(root).as_posix().encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()[:12]


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "missing"


def _content(shared: Path) -> str:
    try:
        return shared.read_text("utf-8")
    except (OSError, ValueError):
        return "not the same one"
