"""The receipt of an erasure: what was there, and what was found when it was looked for again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class ErasedFile:
    """A file as it was before: its place in the home (an upload's own name left out), size and SHA-256."""

    path: str
    size_bytes: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Proof:
    """What was found when all of it was looked for again.

    Parameters
    ----------
    at
        When.
    files_left, rows_left, traces_left
        Files that are still there; rows that are, by table; files that still hold bytes or words of it.
    probes, texts
        How many stretches of its files and how many texts were searched for; each was in nothing else before.
    searched_files, searched_bytes
        What was searched for them.
    left_out
        How many files were not searched: films of other recordings, in a large home.
    """

    at: datetime
    files_left: tuple[str, ...]
    rows_left: Mapping[str, int]
    traces_left: tuple[str, ...]
    probes: int
    texts: int
    searched_files: int
    searched_bytes: int
    left_out: int

    @property
    def holds(self) -> bool:
        """Whether nothing is left."""
        return not (self.files_left or self.rows_left or self.traces_left)


@dataclass(frozen=True, slots=True)
class Receipt:
    """What was erased, and its proof; it names people by id and code, and no film by its name.

    Parameters
    ----------
    id
        Id of the receipt.
    recording_id, course_id
        What was erased, and the course it belonged to.
    made_by, erased_by
        Ids of who had added it and who erased it; None for a job that nobody ran.
    at, why
        When and why.
    files, rows
        Every file, and the number of rows by table, as they were before.
    kept
        Rows that are kept on purpose, by table.
    notes
        What else was removed, in plain words.
    proof
        What was found afterwards; None where that was cut short.
    """

    id: str
    recording_id: str
    course_id: str | None
    made_by: str
    erased_by: str | None
    at: datetime
    why: str
    files: tuple[ErasedFile, ...]
    rows: Mapping[str, int]
    kept: Mapping[str, int]
    notes: tuple[str, ...] = ()
    proof: Proof | None = None

    @property
    def size_bytes(self) -> int:
        """Size of all files together."""
        return sum(one.size_bytes for one in self.files)
