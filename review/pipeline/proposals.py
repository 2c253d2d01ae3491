"""Where the steps of a sheet seem to lie in a recording, computed when asked for and kept until anything changes."""

from __future__ import annotations

from collections.abc import Collection
from functools import lru_cache
from hashlib import sha256

from review.domain.checklist import Checklist
from review.domain.model import Recording, Value
from review.domain.proposal import Proposal
from review.pipeline.first_pass.evidence import evidence
from review.pipeline.first_pass.habits import learned
from review.pipeline.first_pass.proposing import propose
from review.pipeline.first_pass.seen import ALL, MEASURES, Seen, cues_seen
from review.pipeline.spoken import heard_findings
from review.pipeline.values import film_values
from review.store.first_pass import FirstPassStore
from review.store.home import Home
from review.store.trackstore import TrackStore
from review.store.words import WordStore


def proposals_of(home: Home, recording_id: str, sheet: Checklist) -> tuple[Proposal, ...] | None:
    """Return where the steps of a sheet seem to lie in a recording, by onset; None where nothing was listened to yet.

    They are computed anew whenever the words, what was seen, the sheet or what was learned changed, and kept on the
    disk until then. What was seen counts once `look` noted it.

    Raises
    ------
    StoreBroken
        If the words cannot be read.
    """
    heard = WordStore(home, recording_id).version()
    if not heard:
        return None
    seen = _seen(home, recording_id)
    version = sha256(f"{heard} {seen!r} {_digest(sheet)} {learned().version}".encode()).hexdigest()
    return _kept(home, recording_id, version, sheet, seen)


def listened(home: Home, recording: Recording, sheet: Checklist) -> None:
    """Make the proposals of a film once all of it was listened to, so that no page has to; not before."""
    if WordStore(home, recording.id).whole(recording.frames):
        proposals_of(home, recording.id, sheet)


def look(home: Home, recording_id: str, sheet: Checklist, values: Collection[Value]) -> None:
    """Note what was seen in a film that speaks for steps, once it was looked at whole, and make its proposals.

    Parameters
    ----------
    home, recording_id, sheet
        Where, which recording, and its sheet.
    values
        What all measures say of the whole film; empty where that is not known.
    """
    if not WordStore(home, recording_id).version():
        return
    tracks = TrackStore(home, recording_id)
    told = values or film_values(tracks.open(), recording_id, MEASURES)
    found = {one.cue.name: one.intervals for one in cues_seen(tracks.open({"hand", "face"}), told)}
    FirstPassStore(home, recording_id).put_seen(tracks.version(), found)
    proposals_of(home, recording_id, sheet)


def _seen(home: Home, recording_id: str) -> tuple[Seen, ...]:
    known = FirstPassStore(home, recording_id).seen(TrackStore(home, recording_id).version()) or {}
    return tuple(Seen(cue, tuple(known[cue.name])) for cue in ALL if cue.name in known)


@lru_cache(maxsize=64)
def _digest(sheet: Checklist) -> str:
    return sha256(repr(sheet).encode()).hexdigest()


@lru_cache(maxsize=64)
def _kept(
    home: Home, recording_id: str, version: str, sheet: Checklist, seen: tuple[Seen, ...]
) -> tuple[Proposal, ...]:
    store = FirstPassStore(home, recording_id)
    with store.alone():  # the analysis makes them as soon as it can, and a page may ask for them meanwhile
        known = store.get(version)
        if known is None:
            known = _made(home, recording_id, sheet, seen)
            store.put(version, known)
    return known


def _made(home: Home, recording_id: str, sheet: Checklist, seen: tuple[Seen, ...]) -> tuple[Proposal, ...]:
    words = WordStore(home, recording_id).transcript() or ()
    hits = heard_findings(home, recording_id, sheet) or {}
    said = [hit for of_step in hits.values() for hit in of_step]
    return propose(evidence(words, sheet, said, seen), sheet, learned())
