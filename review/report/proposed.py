"""Where steps are proposed to a person: those neither marked nor refused, with reasons as far as they are uncovered."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from hashlib import sha256
from typing import Any, Final

from review.access import Deed, allowed, may
from review.domain.checklist import Checklist
from review.domain.model import Interval, Mark, Person, Recording
from review.domain.proposal import Proposal, Refusal
from review.pipeline.jobs import UNFINISHED
from review.pipeline.proposals import proposals_of
from review.report.cover import Cover
from review.report.recordings import analysis
from review.store.home import Home
from review.store.repository import Repository, reading
from review.store.words import WordStore

SURE: Final = 0.9
"""Share of proposals that must be right for one to count as sure: those that can be taken together."""

LATER: Final = "Steps are proposed as soon as all that is said in this film was listened to."
SILENT: Final = "No step is proposed: this film has no sound."
LEFT_OUT: Final = "No step is proposed: what is said in films is not written down here (runthrough words)."
UNHEARD: Final = "No step is proposed: nothing was listened to in this film."
NOT_YET: Final = "No step is proposed by what was heard; this film is still being looked at."
NOTHING: Final = "No step is proposed: nothing that was heard or seen speaks for one."
ALL_DONE: Final = "Every step that was proposed is marked or refused."


@dataclass(frozen=True, slots=True)
class _Known:
    """What is known of a recording and a person before anything is proposed."""

    recording: Recording
    sheet: Checklist
    marks: tuple[Mark, ...]
    refusals: tuple[Refusal, ...]
    cover: Cover
    unfinished: bool
    listening: bool


def proposed(home: Home, person: Person, recording_id: str) -> dict[str, Any]:
    """Return where the steps of a recording's sheet are proposed to a person; it can take a while the first time.

    While a film is being looked at they rest on what was said, once all of it was listened to; they are made anew when
    all was seen. Left out are steps that the person has marked, and what the person refused. Reasons of a step that is
    still covered (see `review.report.cover`) are left out as well: blind first.

    Returns
    -------
    dict
        ``proposals``, by onset: each ``id, step, side, onset_s, offset_s, sure, words, reasons``; ``said``, a sentence
        why there are none, or an empty text.

    Raises
    ------
    NotAllowed
        If the person may not mark the recording.
    """
    with reading(home) as repo:
        recording = allowed(repo, person, Deed.MARK, recording_id)
        known = _known(repo, recording, person)
    if known.unfinished and not WordStore(home, recording.id).whole(recording.frames):
        return {"proposals": [], "said": _unheard(known)}
    found = proposals_of(home, recording.id, known.sheet)
    if found is None:
        return {"proposals": [], "said": _unheard(known)}
    open_ones = still_open(found, known.marks, known.refusals)
    shown = [_shown(one, known) for one in open_ones if one.interval.onset_s < recording.duration_s]
    return {"proposals": shown, "said": "" if shown else _none_shown(known, bool(found))}


def first_pass(
    home: Home, repo: Repository, recording: Recording, person: Person, known: tuple[object, ...]
) -> dict[str, Any]:
    """Return what a board says of proposals without computing any, so that no page waits for them.

    Parameters
    ----------
    home, repo
        Where, and its open transaction.
    recording, person
        Which, and for whom.
    known
        What the board has read that proposals rest on: marks, uncoverings, how far the analysis is.

    Returns
    -------
    dict
        ``refusals``, the person's own; ``proposed``, a short text that changes whenever `proposed` may answer
        otherwise, None for who may not mark.
    """
    refusals = repo.refusals().of(recording.id, person.id)
    shown = [
        {"id": one.id, "step": one.step_id, "side": one.side, **_times(one.interval, recording)} for one in refusals
    ]
    text = repr((WordStore(home, recording.id).version(), refusals, known))
    state = sha256(text.encode()).hexdigest()[:16] if may(person, Deed.MARK, recording) else None
    return {"refusals": shown, "proposed": state}


def still_open(
    proposals: Iterable[Proposal], marks: Iterable[Mark], refusals: Sequence[Refusal]
) -> tuple[Proposal, ...]:
    """Return those proposals whose step and side carry none of the marks, and that none of the refusals reaches."""
    marked = {(mark.step_id, mark.side) for mark in marks}
    return tuple(
        one
        for one in proposals
        if (one.step_id, one.side) not in marked and not any(refusal.reaches(one) for refusal in refusals)
    )


def confidence_words(share: float) -> str:
    """Say how many of such proposals are right.

    Examples
    --------
    >>> confidence_words(0.88), confidence_words(0.42)
    ('about 9 in 10 right (88 %)', 'about 4 in 10 right (42 %)')
    >>> confidence_words(0.97), confidence_words(0.02)
    ('more than 9 in 10 right (97 %)', 'fewer than 1 in 10 right (2 %)')
    """
    percent = f"({100 * share:.0f} %)"
    tenths = round(10 * share)
    if tenths > 9:
        return f"more than 9 in 10 right {percent}"
    if tenths < 1:
        return f"fewer than 1 in 10 right {percent}"
    return f"about {tenths} in 10 right {percent}"


def _known(repo: Repository, recording: Recording, person: Person) -> _Known:
    return _Known(
        recording,
        repo.sheet_of(recording),
        tuple(one for one in repo.marks(recording.id) if one.person_id == person.id),
        repo.refusals().of(recording.id, person.id),
        Cover(repo.uncoverings().of(recording.id, person.id), person),
        analysis(repo, recording)["state"] in UNFINISHED,
        repo.listenings().get().on,
    )


def _unheard(known: _Known) -> str:
    if not known.recording.has_sound:
        return SILENT
    if not known.listening:
        return LEFT_OUT
    return LATER if known.unfinished and known.recording.slow_motion == 1 else UNHEARD


def _none_shown(known: _Known, found: bool) -> str:
    if found:
        return ALL_DONE
    return NOT_YET if known.unfinished else NOTHING


def _shown(proposal: Proposal, known: _Known) -> dict[str, Any]:
    covered = known.cover.over(proposal.step_id, proposal.side)
    return {
        "id": proposal.key,
        "step": proposal.step_id,
        "side": proposal.side,
        **_times(proposal.interval, known.recording),
        "sure": proposal.confidence >= SURE,
        "words": confidence_words(proposal.confidence),
        "reasons": [] if covered else list(proposal.reasons),
    }


def _times(seconds: Interval, recording: Recording) -> dict[str, float]:
    return {"onset_s": seconds.onset_s, "offset_s": min(seconds.offset_s, recording.duration_s)}
