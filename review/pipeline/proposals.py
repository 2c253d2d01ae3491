"""Where the steps of a sheet seem to lie in a recording, computed when asked for and kept until anything changes."""

from __future__ import annotations

from functools import lru_cache
from hashlib import sha256

from review.domain.checklist import Checklist
from review.domain.proposal import Proposal
from review.pipeline.desk import WHO
from review.pipeline.first_pass.evidence import evidence
from review.pipeline.first_pass.habits import learned
from review.pipeline.first_pass.proposing import propose
from review.pipeline.first_pass.seen import cues_seen
from review.pipeline.spoken import heard_findings
from review.store.first_pass import FirstPassStore
from review.store.home import Home
from review.store.trackstore import TrackStore
from review.store.words import WordStore


def proposals_of(home: Home, recording_id: str, sheet: Checklist) -> tuple[Proposal, ...] | None:
    """Return where the steps of a sheet seem to lie in a recording, by onset; None where nothing was listened to yet.

    They are computed anew whenever the words, the sheet or what was learned changed, and kept on the disk until then.

    Raises
    ------
    StoreBroken
        If the words cannot be read.
    """
    heard = WordStore(home, recording_id).version()
    if not heard:
        return None
    looked = _looked(home, recording_id)
    version = sha256(f"{heard} {looked} {_digest(sheet)} {learned().version}".encode()).hexdigest()
    return _kept(home, recording_id, version, sheet, bool(looked))


def _looked(home: Home, recording_id: str) -> str:
    """Return the version of the tracks; empty before the film was looked at whole."""
    store = TrackStore(home, recording_id)
    return store.version() if any(key.startswith(WHO) for key in store.done()) else ""


@lru_cache(maxsize=64)
def _digest(sheet: Checklist) -> str:
    return sha256(repr(sheet).encode()).hexdigest()


@lru_cache(maxsize=64)
def _kept(home: Home, recording_id: str, version: str, sheet: Checklist, looked: bool) -> tuple[Proposal, ...]:
    store = FirstPassStore(home, recording_id)
    known = store.get(version)
    if known is not None:
        return known
    words = WordStore(home, recording_id).transcript() or ()
    hits = heard_findings(home, recording_id, sheet) or {}
    wanted = {name for step in sheet.steps() for name in step.measures}
    seen = cues_seen(TrackStore(home, recording_id).open, wanted) if looked else ()
    given = evidence(words, sheet, [hit for of_step in hits.values() for hit in of_step], seen)
    found = propose(given, sheet, learned())
    store.put(version, found)
    return found
