"""One's own marks as chapters of the film: WebVTT, for the player's own track and for any other."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from review.access import Deed, allowed
from review.domain.checklist import Checklist
from review.domain.model import Mark, Person, Recording, Side
from review.exchange.cues import Cue, milliseconds, web_vtt
from review.store.home import Home
from review.store.repository import reading


def chapters(home: Home, person: Person, recording: Recording) -> str:
    """Return the marks that a person made on a recording as WebVTT chapters; marks of others stay out.

    References
    ----------
    W3C, WebVTT: The Web Video Text Tracks Format, section 4.6.2 (WebVTT file using chapter title text).
    """
    with reading(home) as repo:
        recording = allowed(repo, person, Deed.SEE, recording.id)
        titles = _titles(repo.sheet_of(recording))
        own = [one for one in repo.marks(recording.id) if one.person_id == person.id]
    return web_vtt(nested(_cues(own, titles)))


def _titles(sheet: Checklist) -> Mapping[tuple[str, Side | None], str]:
    """Return what each step of a sheet is called as a chapter: its number in the sheet, its title, its side."""
    places = [(step, side) for step in sheet.steps() for side in step.places]
    return {
        (step.id, side): f"{number} {step.title}{f', {side}' if side else ''}"
        for number, (step, side) in enumerate(places, 1)
    }


def _cues(marks: Iterable[Mark], titles: Mapping[tuple[str, Side | None], str]) -> list[Cue]:
    """Return a cue a mark; a mark without an end, or of a step that the sheet has no longer, has none."""
    return [
        Cue(mark.id, milliseconds(mark.interval.onset_s), milliseconds(mark.interval.offset_s), title)
        for mark in marks
        if (title := titles.get((mark.step_id, mark.side))) is not None
        and milliseconds(mark.interval.offset_s) > milliseconds(mark.interval.onset_s)
    ]


def nested(cues: Iterable[Cue]) -> list[Cue]:
    """Return cues of which any two lie apart or one within the other, in order of their onsets.

    Where a cue begins within another and outlasts it, the earlier one ends where the later one begins: a chapter is
    there to be gone to, so that no beginning is moved and none is lost.

    Parameters
    ----------
    cues
        Each of them ends after it begins.

    References
    ----------
    W3C, WebVTT: The Web Video Text Tracks Format, section 4.5.1 (WebVTT file using only nested cues). By its letter of
    any two cues one contains the other; by its example, and the tree that it speaks of, they may lie apart as well.
    """
    told: list[Cue] = []
    open_ones: list[int] = []
    for cue in sorted(cues, key=lambda one: (one.onset_ms, -one.offset_ms, one.id)):
        while open_ones and told[open_ones[-1]].offset_ms < cue.offset_ms:
            at = open_ones.pop()
            told[at] = told[at]._replace(offset_ms=min(told[at].offset_ms, cue.onset_ms))
        open_ones.append(len(told))
        told.append(cue)
    return told
