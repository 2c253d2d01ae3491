"""Storing check-off sheets."""

from __future__ import annotations

from pathlib import Path

from review.access import Deed, demand
from review.checklists import shipped_checklists
from review.domain.checklist import Checklist
from review.domain.checklist_file import parse_checklist, read_checklist
from review.domain.errors import NotFound
from review.domain.model import Person
from review.measures import units
from review.store.repository import Repository


def save(repo: Repository, person: Person, path: Path) -> Checklist:
    """Store a checklist file.

    Returns
    -------
    Checklist
        What was read.

    Raises
    ------
    ChecklistRefused
        If the file cannot be read or has faults.
    EntryRefused
        If this version of the sheet is stored with another text.
    """
    demand(person, Deed.SAVE_CHECKLIST)
    read_checklist(path, units())
    text = path.read_text(encoding="utf-8-sig")
    checklist = parse_checklist(text, str(path), units())
    repo.put_checklist(checklist, text)
    return checklist


def install_shipped(repo: Repository) -> tuple[Checklist, ...]:
    """Store the sheets that come with Runthrough; a version stored before stays as it is.

    Returns
    -------
    tuple of Checklist
        Those that were new here.
    """
    fresh = []
    for file in shipped_checklists().values():
        checklist = read_checklist(file)
        if not _stored(repo, checklist):
            repo.put_checklist(checklist, file.read_text(encoding="utf-8"))
            fresh.append(checklist)
    return tuple(fresh)


def _stored(repo: Repository, checklist: Checklist) -> bool:
    try:
        repo.checklist(checklist.id, checklist.version)
    except NotFound:
        return False
    return True
