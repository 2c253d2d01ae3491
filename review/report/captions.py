"""Comments as captions of the film: WebVTT, for the player's own track and for any other."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from review.access import Deed, demand
from review.domain.model import Comment, Person, Recording
from review.report.cover import Cover
from review.store.home import Home
from review.store.repository import reading

LEAST_S: Final = 3.0
"""How long the words of a moment stay at least."""

READING_RATE: Final = 15.0
"""Characters a second that can be read along with a picture (common practice, no source)."""

LONGEST_S: Final = 8.0


def captions(home: Home, person: Person, recording: Recording) -> str:
    """Return the comments of a recording as WebVTT, at their seconds; what is covered or settled is left out.

    References
    ----------
    W3C, WebVTT: The Web Video Text Tracks Format, sections 4 and 6 (from memory).
    """
    demand(person, Deed.SEE, recording)
    with reading(home) as repo:
        people = {one.id: one for one in repo.people()}
        cover = Cover(repo.uncoverings().of(recording.id, person.id), person)
        said = [one for one in repo.comments(recording.id) if not cover.hides(one.step_id, one.side, one.person_id)]
    open_ones = [one for one in said if one.resolved_by is None]
    return web_vtt((one, people[one.person_id].code) for one in open_ones)


def web_vtt(said: Iterable[tuple[Comment, str]]) -> str:
    """Write comments, each with the code of who said it, as WebVTT, by their onset.

    A comment stays for its own seconds, but long enough to be read: 3 s, a second for every 15 characters, no longer
    than 8 s beyond its onset unless it is about a longer stretch.
    """
    cues = sorted(said, key=lambda one: (one[0].interval, one[0].id))
    return "\n\n".join(["WEBVTT", *(_cue(comment, code) for comment, code in cues)]) + "\n"


def _cue(comment: Comment, code: str) -> str:
    seconds = comment.interval
    enough = min(LONGEST_S, max(LEAST_S, len(comment.text) / READING_RATE))
    end = max(seconds.offset_s, seconds.onset_s + enough)
    return f"{comment.id}\n{_clock(seconds.onset_s)} --> {_clock(end)}\n{_escaped(f'{code}: {comment.text}')}"


def _clock(seconds: float) -> str:
    milliseconds = round(1000 * seconds)
    minutes, rest = divmod(milliseconds, 60_000)
    return f"{minutes // 60:02d}:{minutes % 60:02d}:{rest // 1000:02d}.{rest % 1000:03d}"


def _escaped(text: str) -> str:
    """Return a text without what would end a cue or begin a tag."""
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    return "\n".join(lines).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
