"""Short rendered clips of invented people, each with the exact truth of every frame."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, Final

NAMES: Final = ("romberg", "face", "knee")
"""Names of the clips of one person."""

PAIR: Final = "crossing"
"""Name of the clip of two people; its truth has a form of its own."""

ATTEMPTS: Final = ("attempt_face", "attempt_balance")
"""Names of the spoken attempts; their truth, too, has a form of its own."""

_FOLDER = Path(__file__).parent


def clip_path(name: str) -> Path:
    """Return where the clip called `name` lies.

    Raises
    ------
    KeyError
        If there is no such clip; the message names those there are.
    """
    _check(name)
    return _FOLDER / f"{name}.mp4"


def truth(name: str) -> dict[str, Any]:
    """Return the truth of the clip called `name`, as README.md beside it describes.

    Raises
    ------
    KeyError
        If there is no such clip; the message names those there are.
    """
    _check(name)
    record: dict[str, Any] = json.loads((_FOLDER / f"{name}.truth.json").read_text(encoding="utf-8"))
    return record


def _check(name: str) -> None:
    names = (*NAMES, PAIR, *ATTEMPTS)
    if name not in names:
        raise KeyError(f"no sample clip is called {name!r}; there are {', '.join(names)}")
