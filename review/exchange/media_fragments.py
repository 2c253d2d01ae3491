"""Stretches of a film in an address: the temporal dimension of Media Fragments URI 1.0, in normal play time.

References
----------
W3C, Media Fragments URI 1.0 (basic), Recommendation of 25 September 2012, sections 4.1, 4.2.1, 5.2 and 6.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final
from urllib.parse import unquote

CONFORMS_TO: Final = "http://www.w3.org/TR/media-frags/"

_SECONDS: Final = r"\d+(?:\.\d*)?"
_CLOCK: Final = r"(?:\d+:)?[0-5]\d:[0-5]\d(?:\.\d*)?"
_TIME: Final = rf"(?:{_CLOCK}|{_SECONDS})"
_RANGE: Final = re.compile(rf"(?:npt:)?(?:(?P<onset>{_TIME})(?:,(?P<offset>{_TIME}))?|,(?P<only>{_TIME}))", re.ASCII)


@dataclass(frozen=True, slots=True)
class Fragment:
    """A stretch from `onset_s` up to, and not including, `offset_s`, both in seconds; None means the film's end."""

    onset_s: float
    offset_s: float | None

    def within(self, duration_s: float) -> Fragment:
        """Return the stretch as a film of this length can show it: what lies beyond its end is cut off."""
        end = duration_s if self.offset_s is None else min(self.offset_s, duration_s)
        return Fragment(min(self.onset_s, duration_s), end)


def read_fragment(text: str) -> Fragment | None:
    """Return the stretch that what stands behind the ``#`` of an address names; None where it names none.

    Pairs are parted by ``&`` first and their percent-encoding is undone afterwards; of several valid stretches the
    last one counts, and what is not understood is passed over.

    Examples
    --------
    >>> read_fragment("t=3,7"), read_fragment("t=,0:00:07"), read_fragment("t=7,3")
    (Fragment(onset_s=3.0, offset_s=7.0), Fragment(onset_s=0.0, offset_s=7.0), None)
    """
    found = None
    for pair in text.split("&"):
        name, equals, value = pair.partition("=")
        if equals and unquote(name) == "t":
            found = _stretch(unquote(value)) or found
    return found


def _stretch(value: str) -> Fragment | None:
    fitting = _RANGE.fullmatch(value)
    if fitting is None:
        return None
    if fitting["only"] is not None:
        offset_s = _seconds(fitting["only"])
        return Fragment(0.0, offset_s) if offset_s > 0 else None
    onset_s = _seconds(fitting["onset"])
    if fitting["offset"] is None:
        return Fragment(onset_s, None)
    offset_s = _seconds(fitting["offset"])
    return Fragment(onset_s, offset_s) if onset_s < offset_s else None


def _seconds(text: str) -> float:
    *before, last = text.split(":")
    total = float(last)
    for place, part in enumerate(reversed(before), 1):
        total += int(part) * 60**place
    return total


def write_fragment(onset_ms: int, offset_ms: int | None = None) -> str:
    """Write a stretch in seconds with three decimals; without an end it lasts to the film's end.

    A moment has no length, and the standard ignores a stretch without one, so that it is given a millisecond.

    Examples
    --------
    >>> write_fragment(3000, 7500), write_fragment(3000, 3000), write_fragment(3000)
    ('t=3.000,7.500', 't=3.000,3.001', 't=3.000')
    """
    onset = f"t={onset_ms / 1000:.3f}"
    return onset if offset_ms is None else f"{onset},{max(offset_ms, onset_ms + 1) / 1000:.3f}"
