"""Storing, copying and retiring check-off sheets."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from review.access import Deed, demand
from review.checklists import shipped_checklists
from review.domain.checklist import Checklist
from review.domain.checklist_file import checklist_of, parse_checklist, read_checklist
from review.domain.checklist_places import placed
from review.domain.checklist_text import text_of, values_of
from review.domain.errors import EntryRefused, Fault, NotFound
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
    repo.put_checklist(checklist, text, person.id)
    return checklist


def save_draft(
    repo: Repository,
    person: Person,
    values: Mapping[str, Any],
    based_on: int | None = None,
    where: Callable[[Fault], str] | None = None,
) -> Checklist:
    """Store a draft as the next version of its checklist, or as the first of a new one.

    Parameters
    ----------
    repo
        Open transaction.
    person
        Who stores it.
    values
        The draft in the shape of a checklist file; its version is not looked at.
    based_on
        The version that was changed; None for a new checklist.
    where
        Says where a fault lies; without it, in words such as "Standing, step 2".

    Returns
    -------
    Checklist
        What was stored; the version that is there already where the draft changes nothing.

    Raises
    ------
    ChecklistRefused
        If the draft has faults; it holds all of them with their places.
    EntryRefused
        If a new checklist's id is taken, or somebody stored a newer version meanwhile.
    """
    demand(person, Deed.SAVE_CHECKLIST)
    stored = repo.sheets().versions(str(values.get("id", "")))
    newest = stored[0].version if stored else 0
    with placed(values, where):
        sheet = checklist_of({**values, "version": newest + 1}, "This sheet", units())
    if based_on is None and stored:
        raise EntryRefused(
            f"The id {sheet.id!r} is taken by {stored[0].title!r}; expected an id of its own for a new sheet. Nothing "
            "was stored; choose another id, or open that sheet and change it."
        )
    if based_on is not None and based_on != newest:
        raise EntryRefused(
            f"Version {based_on} of {sheet.id!r} was changed here, but version {newest} was stored meanwhile; expected "
            "changes to the newest one. Nothing was stored and your draft is kept: look at the newest version, then "
            "put your changes in there, or store the draft as a copy with another id."
        )
    if stored and replace(sheet, version=newest) == repo.checklist(sheet.id):
        return repo.checklist(sheet.id)
    repo.put_checklist(sheet, text_of(sheet), person.id)
    return sheet


def copy(
    repo: Repository, person: Person, checklist_id: str, new_id: str, title: str | None = None, version: int = 0
) -> Checklist:
    """Store a copy of a checklist under another id, as its version 1.

    Parameters
    ----------
    repo, person
        Where, and who.
    checklist_id, version
        What is copied; 0 for the newest version.
    new_id, title
        Id and name of the copy; without a title, the old one with ", copy" behind it.

    Raises
    ------
    NotFound
        If there is no such checklist.
    ChecklistRefused
        If the new id is none.
    EntryRefused
        If the new id is taken.
    """
    demand(person, Deed.SAVE_CHECKLIST)
    old = repo.checklist(checklist_id, version or None)
    return save_draft(repo, person, {**values_of(old), "id": new_id, "title": title or f"{old.title}, copy"})


def retire(repo: Repository, person: Person, checklist_id: str) -> None:
    """Offer a checklist no more for new attempts; attempts that use it keep it.

    Raises
    ------
    NotFound
        If there is no such checklist.
    """
    demand(person, Deed.RETIRE_CHECKLIST)
    repo.sheets().retire(checklist_id, person.id)


def bring_back(repo: Repository, person: Person, checklist_id: str) -> None:
    """Offer a retired checklist for new attempts again; raises NotFound for an unknown id."""
    demand(person, Deed.RETIRE_CHECKLIST)
    repo.sheets().bring_back(checklist_id)


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
