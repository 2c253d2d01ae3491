"""What is said in a film as captions: for the player, as a file, and as a list that is searched and corrected."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from review.access import Deed, allowed, may
from review.domain.captions import UNSURE, Caption, captions_of, lines_of
from review.domain.model import Person, Recording
from review.exchange.cues import Cue, milliseconds, web_vtt
from review.speech.seeking import asked_words, groups, places, searchable
from review.store.home import Home
from review.store.repository import Repository, reading
from review.store.words import WordStore


def standing_captions(home: Home, repo: Repository, recording: Recording) -> tuple[Caption, ...]:
    """Return the captions of a recording, those that were corrected to nothing too."""
    words = WordStore(home, recording.id).transcript() or ()
    return captions_of(words, repo.corrections().of(recording.id), recording.duration_s)


def captions(home: Home, person: Person, recording_id: str) -> str:
    """Return what is said in a film as WebVTT captions, corrected as people corrected it.

    References
    ----------
    W3C, WebVTT: The Web Video Text Tracks Format, section 4.6.3 (WebVTT file using caption or subtitle cue text).
    """
    with reading(home) as repo:
        recording = allowed(repo, person, Deed.SEE, recording_id)
        shown = [one for one in standing_captions(home, repo, recording) if one.text]
    return web_vtt(_cues(shown))


def _cues(shown: Sequence[Caption]) -> Iterator[Cue]:
    """Yield captions as cues; one that begins where the film ends cannot be shown and is left out."""
    for place, one in enumerate(shown, 1):
        onset_ms, offset_ms = milliseconds(one.interval.onset_s), milliseconds(one.interval.offset_s)
        if offset_ms > onset_ms:
            yield Cue(str(place), onset_ms, offset_ms, "\n".join(lines_of(one.text)))


def captions_told(home: Home, person: Person, recording_id: str, wanted: str = "") -> dict[str, Any]:
    """Return the captions of a recording for the list on the Review page.

    Parameters
    ----------
    home, person, recording_id
        Where, for whom, of which recording.
    wanted
        Words that are sought in them; empty for none.

    Returns
    -------
    dict
        ``listened``: whether anything was listened to; ``may_correct``; ``corrected``: how many are; ``found``: how
        many places hold the words; ``captions``, by onset, each with ``onset_s, offset_s, text, id, revision`` (of its
        correction; None and 0 without one), ``by, at`` (who corrected it last, and when), ``heard`` (what was heard
        there), ``unsure`` and ``places`` (where in the text words begin and end that the recogniser was unsure of, and
        that were sought), ``sought`` (whether it holds the words, alone or with the one before or behind it).
    """
    with reading(home) as repo:
        recording = allowed(repo, person, Deed.SEE, recording_id)
        codes = {one.id: one.code for one in repo.people()}
        listened = bool(WordStore(home, recording.id).version())
        shown = standing_captions(home, repo, recording)
    asked = asked_words(wanted)
    found = groups([searchable(one.text) for one in shown], asked)
    sought = {place for group in found for place in group}
    return {
        "listened": listened,
        "may_correct": may(person, Deed.CORRECT_CAPTIONS, recording),
        "corrected": sum(1 for one in shown if one.correction),
        "found": len(found),
        "captions": [_told(one, codes, asked, place in sought) for place, one in enumerate(shown)],
    }


def _told(one: Caption, codes: Mapping[str, str], asked: Sequence[str], sought: bool) -> dict[str, Any]:
    correction = one.correction
    return {
        "onset_s": one.interval.onset_s,
        "offset_s": one.interval.offset_s,
        "text": one.text,
        "id": correction.id if correction else None,
        "revision": correction.revision if correction else 0,
        "by": codes[correction.person_id] if correction else "",
        "at": correction.at.isoformat(timespec="minutes") if correction else "",
        "heard": " ".join(word.text for word in one.words),
        "unsure": [] if correction else unsure_places(one),
        "places": places(one.text, asked) if asked else [],
        "sought": sought,
    }


def unsure_places(caption: Caption) -> list[list[int]]:
    """Return where in the text of a caption as it was heard the words begin and end that the recogniser was unsure of.

    Examples
    --------
    >>> from review.domain.model import Interval
    >>> from review.domain.transcript import Word
    >>> heard = (Word("Biceps", 1.0, 1.4, 0.9), Word("two", 1.4, 1.6, 0.3), Word("plus.", 1.6, 1.9, 0.8))
    >>> unsure_places(Caption(Interval(1.0, 2.0), "Biceps two plus.", heard))
    [[7, 10]]
    """
    found: list[list[int]] = []
    begun = 0
    for word in caption.words:
        if word.confidence < UNSURE:
            found.append([begun, begun + len(word.text)])
        begun += len(word.text) + 1
    return found
