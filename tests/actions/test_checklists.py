from __future__ import annotations

from pathlib import Path

import pytest

from review.actions import checklists
from review.checklists import shipped_checklists
from review.domain.errors import ChecklistRefused, EntryRefused
from review.store.repository import Repository
from tests.store import made


def test_a_saved_sheet_comes_back(repo: Repository, tmp_path: Path) -> None:
    """What was read from the file is what the database gives back."""
    path = tmp_path / "mine.toml"
    path.write_text(made.SHEET.replace('"short_sheet"', '"mine"'), encoding="utf-8-sig", newline="\r\n")
    saved = checklists.save(repo, made.INSTRUCTOR, path)
    assert repo.checklist("mine") == saved
    assert saved.id == "mine"


def test_a_changed_sheet_needs_a_new_version(repo: Repository, tmp_path: Path) -> None:
    """The same version with other words is refused; with the next version both are kept."""
    path = tmp_path / "short.toml"
    changed = made.SHEET.replace("No step.", "Not one step.")
    path.write_text(changed)
    with pytest.raises(EntryRefused, match="raise the version"):
        checklists.save(repo, made.INSTRUCTOR, path)
    path.write_text(changed.replace("version = 1", "version = 2"))
    checklists.save(repo, made.INSTRUCTOR, path)
    expected = [repo.checklist("short_sheet", version).step("romberg").expected for version in (1, 2)]
    assert expected == ["No step.", "Not one step."]


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('caution = "Stand guard."', "", "caution"),
        (
            "critical = true",
            'critical = true\ntargets = [{ measure = "stanse", low = 1, unit = "1", source = "x" }]',
            "stanse",
        ),
    ],
    ids=["caution missing", "unknown measure"],
)
def test_a_sheet_with_faults_is_not_stored(repo: Repository, tmp_path: Path, old: str, new: str, words: str) -> None:
    """Faults are named, and nothing of the file is kept."""
    path = tmp_path / "faulty.toml"
    path.write_text(made.SHEET.replace('"short_sheet"', '"faulty"').replace(old, new))
    with pytest.raises(ChecklistRefused, match=words):
        checklists.save(repo, made.INSTRUCTOR, path)
    assert [sheet.id for sheet in repo.checklists()] == ["short_sheet"]


def test_the_shipped_sheets_are_installed_once(repo: Repository) -> None:
    """The first call stores all shipped sheets, the second none."""
    fresh = checklists.install_shipped(repo)
    assert len(fresh) == len(shipped_checklists()) > 0
    assert all(repo.checklist(sheet.id, sheet.version) == sheet for sheet in fresh)
    assert checklists.install_shipped(repo) == ()
