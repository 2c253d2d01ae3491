"""What is known of the copies with masked heads, in words, and the file of one for whoever may take it out."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final

from review.access import Deed
from review.domain.errors import NotFound
from review.domain.masking import DOUBTS, Heads, MaskedCopy
from review.domain.model import Person, Recording
from review.report.recordings import find
from review.store.home import Home
from review.store.masked import masked_copies, masked_film
from review.store.repository import reading

KINDS: Final = {Heads.OTHERS: "all faces but the examined person's", Heads.ALL: "all faces"}
"""Whose faces are masked, in words."""

STAYS: Final = (
    "Clothes, gait, build, tattoos and the room still tell those who know a person who it is. A masked copy is "
    "personal data still: share it only with those whom the people in it agreed to."
)
"""What masking cannot do, in words."""


IN_THE_TRAIL: Final = "copy with masked faces"
"""What the trail says was taken out."""


def masked(home: Home, person: Person, recording_id: str) -> list[dict[str, Any]]:
    """Return the masked copies of a recording, in words, for whoever may take one out.

    Each is ``{"heads", "words", "sound", "made_at", "size_bytes", "name", "outdated", "doubtful"}``; ``doubtful`` lists
    ``{"start_s", "stop_s", "words"}``. An ``outdated`` one was made before somebody pointed at the examined person.
    """
    recording = find(home, person, recording_id, Deed.MASK)
    with reading(home) as repo:
        pointed = max((one.at for one in repo.pointings(recording.id)), default=None)
    return [
        {
            "heads": str(copy.heads),
            "words": KINDS[copy.heads],
            "sound": copy.sound,
            "made_at": copy.made_at.isoformat(timespec="seconds"),
            "size_bytes": copy.size_bytes,
            "name": file_name(recording, copy.heads),
            "outdated": copy.heads is Heads.OTHERS and pointed is not None and pointed > copy.made_at,
            "doubtful": doubtful(copy),
        }
        for copy in masked_copies(home, recording.sha256)
    ]


def doubtful(copy: MaskedCopy) -> list[dict[str, Any]]:
    """Return the seconds of a copy to look at before it is shared, and why: ``{"start_s", "stop_s", "words"}``."""
    return [{"start_s": one.start_s, "stop_s": one.stop_s, "words": DOUBTS[one.why]} for one in copy.doubtful]


def doubtful_lines(copy: MaskedCopy) -> list[str]:
    """Return the same as lines of text."""
    return [f"{one['start_s']:7.2f} to {one['stop_s']:7.2f} s  {one['words']}" for one in doubtful(copy)]


def masked_file(home: Home, person: Person, recording_id: str, heads: Heads) -> tuple[Path, str]:
    """Return where a masked copy is, and the name to give it away under.

    Raises
    ------
    NotFound
        If it was not made.
    NotAllowed
        If the person may not take it out.
    """
    recording = find(home, person, recording_id, Deed.MASK)
    if all(copy.heads is not heads for copy in masked_copies(home, recording.sha256)):
        raise NotFound(f"There is no copy of {recording.name} with {KINDS[heads]} masked. Have it made first.")
    return masked_film(home, recording.sha256, heads), file_name(recording, heads)


def file_name(recording: Recording, heads: Heads) -> str:
    """Return a name for a masked copy; the film's own name, which may tell of a person, a day or a place, is not in it.

    Examples
    --------
    >>> from tests.store import made
    >>> file_name(made.recording(), Heads.ALL)
    'attempt-1-faces-masked-all.mp4'
    """
    return f"attempt-{recording.attempt}-faces-masked-{heads}.mp4"
