"""Plain texts at their times as WebVTT: what captions and chapters are written with."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from review.exchange.timed_text import clock


class Cue(NamedTuple):
    """A text and when it is shown.

    Parameters
    ----------
    id
        Name of the cue in its file.
    onset_ms, offset_ms
        From when until when, milliseconds from the first frame; a cue of the standard ends after it begins.
    text
        What is said; plain text.
    """

    id: str
    onset_ms: int
    offset_ms: int
    text: str


def milliseconds(seconds: float) -> int:
    """Return a time in the unit of WebVTT's clock."""
    return round(1000 * seconds)


def web_vtt(cues: Iterable[Cue]) -> str:
    """Write cues as a WebVTT file, by their onset, as the standard demands of neighbours.

    References
    ----------
    W3C, WebVTT: The Web Video Text Tracks Format, sections 4.1 and 4.2.
    """
    in_order = sorted(cues, key=lambda cue: (cue.onset_ms, -cue.offset_ms, cue.id))
    return "\n\n".join(["WEBVTT", *(_written(cue) for cue in in_order)]) + "\n"


def _written(cue: Cue) -> str:
    return f"{cue.id}\n{clock(cue.onset_ms)} --> {clock(cue.offset_ms)}\n{_escaped(cue.text)}"


def _escaped(text: str) -> str:
    """Return a text without what would end a cue or begin a tag."""
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    return "\n".join(lines).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
