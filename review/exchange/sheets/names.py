"""Ids made of titles."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection
from typing import Final

_LONGEST: Final = 40


def slug(text: str, otherwise: str) -> str:
    """Make an id of a text: small letters, digits and `_`, a letter first.

    Parameters
    ----------
    text
        A title in any script.
    otherwise
        What the id begins with where the text gives no letter to begin with.

    Examples
    --------
    >>> slug("Eyes closed (20 s)", "step"), slug("0.75", "level"), slug("Prüfung: Gehör", "step"), slug("視野", "step")
    ('eyes_closed_20_s', 'level_0_75', 'prufung_gehor', 'step')
    """
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    found = re.sub(r"[^a-z0-9]+", "_", plain).strip("_")
    if len(found) > _LONGEST:
        found = found[: _LONGEST + 1].rpartition("_")[0] or found[:_LONGEST]
    if not found or not found[0].isalpha():
        found = f"{otherwise}_{found}".strip("_")
    return found


def unlike(name: str, taken: Collection[str]) -> str:
    """Return the name, with a number behind it where it is taken.

    Examples
    --------
    >>> unlike("grip", ["grip", "grip_2"])
    'grip_3'
    """
    if name not in taken:
        return name
    return next(f"{name}_{number}" for number in range(2, len(taken) + 3) if f"{name}_{number}" not in taken)
