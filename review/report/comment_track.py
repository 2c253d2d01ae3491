"""Comments at their seconds of the film: WebVTT, for the player's own track and for any other."""

from __future__ import annotations

from typing import Final

from review.access import Deed, allowed
from review.domain.model import Comment, Person
from review.exchange.cues import Cue, milliseconds, web_vtt
from review.report.cover import Cover
from review.store.home import Home
from review.store.repository import reading

LEAST_S: Final = 3.0
"""How long the words of a moment stay at least."""

READING_RATE: Final = 15.0
"""Characters a second that can be read along with a picture (common practice, no source)."""

LONGEST_S: Final = 8.0


def comment_track(home: Home, person: Person, recording_id: str) -> str:
    """Return the comments of a recording as WebVTT, at their seconds; what is covered or settled is left out.

    References
    ----------
    W3C, WebVTT: The Web Video Text Tracks Format, section 4.6.3 (WebVTT file using caption or subtitle cue text).
    """
    with reading(home) as repo:
        recording = allowed(repo, person, Deed.SEE, recording_id)
        people = {one.id: one for one in repo.people()}
        cover = Cover(repo.uncoverings().of(recording.id, person.id), person)
        said = [one for one in repo.comments(recording.id) if not cover.hides(one.step_id, one.side, one.person_id)]
    open_ones = [one for one in said if one.resolved_by is None]
    return web_vtt(cue_of(one, people[one.person_id].code) for one in open_ones)


def cue_of(comment: Comment, code: str) -> Cue:
    """Return a comment, with the code of who said it, as a cue.

    It stays for its own seconds, but long enough to be read: 3 s, a second for every 15 characters, no longer than
    8 s beyond its onset unless it is about a longer stretch.
    """
    seconds = comment.interval
    enough = min(LONGEST_S, max(LEAST_S, len(comment.text) / READING_RATE))
    end_s = max(seconds.offset_s, seconds.onset_s + enough)
    return Cue(comment.id, milliseconds(seconds.onset_s), milliseconds(end_s), f"{code}: {comment.text}")
