"""Erasing a recording with all that belongs to it, for a receipt that is proved by looking again."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Final
from uuid import uuid4

from review.access import Deed, allowed, demand
from review.domain.errors import StoreBroken
from review.domain.model import Person, Recording
from review.domain.receipt import Proof, Receipt
from review.domain.wording import counted
from review.store.belongings import described, files_of
from review.store.database import open_database
from review.store.erasing import erase_files
from review.store.files import locked_if_free
from review.store.home import Home
from review.store.masked import masked_copies
from review.store.media import film_alone, film_lock, set_unfinished
from review.store.probing import cut_texts, place_of, probes_of, search
from review.store.repository import Repository, reading, repository
from review.store.vault import stowed

ASKED_FOR: Final = "asked for"
TAKEN_BACK: Final = "consent taken back"

CUT_SHORT: Final = "cut short, and finished when the home was opened next; looked again for files and rows only"
"""What a receipt says besides, where the process that erased was killed."""


@dataclass(frozen=True, slots=True)
class _Traces:
    """What is searched for afterwards: stretches of files, and texts, that were in nothing else before."""

    stretches: tuple[bytes, ...]
    texts: tuple[bytes, ...]


def erase(home: Home, person: Person, recording_id: str) -> Receipt:
    """Erase a recording with all that belongs to it; the receipt names everything and says what a second look found.

    What a killed process could not finish is finished by the next sweep (`review.store.leftovers.sweep`); its receipt
    has no proof until `look_again`.
    """
    with reading(home) as repo:
        recording = allowed(repo, person, Deed.ERASE_RECORDING, recording_id)
    why = TAKEN_BACK if recording.sharing.withdrawn else ASKED_FOR
    return erase_for(home, recording, why, person)


def erase_for(home: Home, recording: Recording, why: str, person: Person | None) -> Receipt:
    """Erase a recording as a person who may, or without one for a date that was set; the caller has seen to that."""
    with film_alone(home, recording.sha256):
        paths = files_of(home, recording)
        traces = _traces(home, recording, paths)
        copies = _copies(home, recording)
        kept = tuple(one for path in paths if (one := described(home, path)))
        files = (*kept, *stowed(home, recording.sha256))
        with repository(home) as repo:
            _still_there(repo, recording, person)
            receipt = Receipt(
                id=str(uuid4()),
                recording_id=recording.id,
                course_id=recording.sharing.course_id,
                made_by=recording.added_by,
                erased_by=None if person is None else person.id,
                at=datetime.now(UTC),
                why=why,
                files=files,
                rows=repo.belongings().rows(recording.id),
                kept=repo.belongings().rows(recording.id, kept=True),
            )
            repo.looks().note(receipt.erased_by, recording.id, Deed.ERASE_RECORDING, why, True, receipt.at)
            repo.receipts().put(receipt)
            set_unfinished(home, recording.sha256)
            repo.erase_recording(recording.id)
        receipt = replace(receipt, notes=(*copies, *erase_files(home, recording), *open_database(home).keeps))
        receipt = replace(receipt, proof=_proof(home, recording.id, recording.sha256, paths, traces))
    with repository(home) as repo:
        repo.receipts().put(receipt)
    return receipt


def _copies(home: Home, recording: Recording) -> tuple[str, ...]:
    count = len(masked_copies(home, recording.sha256))
    return (f"{counted(count, 'copy', 'copies')} of it with masked faces",) if count else ()


def _still_there(repo: Repository, recording: Recording, person: Person | None) -> None:
    """See inside the transaction that erases that the recording is there, and that the person still may."""
    now = repo.recording(recording.id)
    if person is not None:
        demand(repo.person(person.id), Deed.ERASE_RECORDING, now)


def _traces(home: Home, recording: Recording, paths: Sequence[Path]) -> _Traces:
    """Choose what is searched for, leaving out what is elsewhere too and would be found whatever is erased."""
    stretches = probes_of(paths)
    elsewhere, _ = search(home, stretches, without=paths)
    with reading(home) as repo:
        belongings = repo.belongings()
        cut = cut_texts(belongings.texts(recording.id))
        texts = [one for one in cut if not belongings.is_elsewhere(one, recording.id)]
    return _Traces(tuple(one for one in stretches if one not in elsewhere), tuple(one.encode() for one in texts))


def look_again(home: Home) -> list[Receipt]:
    """Look again after erasures that were cut short, once `review.store.leftovers.sweep` finished them.

    What was searched for in other files went with the recording, so this looks for files and rows only, and the receipt
    says so. One that is at work just now, or whose film was added again since, stays as it is.

    Returns
    -------
    list of Receipt
        Those that have a proof now.
    """
    with reading(home) as repo:
        cut_short = [one for one in repo.receipts().all() if one.proof is None]
        here = {one.id for one in repo.recordings()}
    made = []
    for one in cut_short:
        with locked_if_free(film_lock(home, one.recording_id)) as free:
            if free and one.recording_id not in here:
                paths = [home.root / file.path for file in one.files if "://" not in file.path]
                try:
                    proof = _proof(home, one.recording_id, _sha256_in(one), paths, _Traces((), ()))
                except StoreBroken:  # the bucket is out of reach: not finished, so not proved
                    continue
                made.append(replace(one, notes=(*one.notes, CUT_SHORT), proof=proof))
                with repository(home) as repo:
                    repo.receipts().put(made[-1])
    return made


def _sha256_in(receipt: Receipt) -> str:
    """Return the SHA-256 of an erased film, which the places of its files name; empty if none does."""
    found = (re.search(r"media/[0-9a-f]{2}/([0-9a-f]{64})/", file.path) for file in receipt.files)
    return next((one[1] for one in found if one), "")


def _proof(home: Home, recording_id: str, sha256: str, paths: Sequence[Path], traces: _Traces) -> Proof:
    """Look for files, rows, stretches and texts again."""
    found, searched = search(home, (*traces.stretches, *traces.texts))
    with reading(home) as repo:
        rows = repo.belongings().rows(recording_id)
    in_bucket = [one.path for one in stowed(home, sha256)] if sha256 else []
    return Proof(
        at=datetime.now(UTC),
        files_left=(*(place_of(home, path) for path in paths if path.exists()), *in_bucket),
        rows_left=dict(rows),
        traces_left=tuple(sorted(set(found.values()))),
        probes=len(traces.stretches),
        texts=len(traces.texts),
        searched_files=searched.files,
        searched_bytes=searched.size_bytes,
        left_out=searched.left_out,
    )
