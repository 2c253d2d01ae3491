from __future__ import annotations

from pathlib import Path

import pytest

from review.actions import checklists
from review.checklists import shipped_checklists
from review.domain.checklist_text import values_of
from review.domain.errors import ChecklistRefused, EntryRefused, NotAllowed, NotFound
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


def test_a_draft_becomes_the_next_version_and_attempts_keep_theirs(repo: Repository) -> None:
    """The recording's sheet stays version 1; who stored the new one is kept; a draft without changes stores nothing."""
    values = {**values_of(repo.checklist("short_sheet")), "title": "Changed"}
    stored = checklists.save_draft(repo, made.INSTRUCTOR, values, based_on=1)
    assert (stored.version, repo.checklist("short_sheet").title) == (2, "Changed")
    recording = repo.recordings()[0]
    assert repo.sheet_of(recording).title == "Short sheet"
    versions = repo.sheets().versions("short_sheet")
    assert [(one.version, one.saved_by, one.attempts) for one in versions] == [
        (2, made.INSTRUCTOR.id, 0),
        (1, None, 1),
    ]
    assert checklists.save_draft(repo, made.INSTRUCTOR, values, based_on=2).version == 2
    assert len(repo.sheets().versions("short_sheet")) == 2


def test_a_draft_of_an_older_version_or_with_a_taken_id_is_refused(repo: Repository) -> None:
    """Nobody's changes are written over, and no sheet takes another's place."""
    values = values_of(repo.checklist("short_sheet"))
    checklists.save_draft(repo, made.INSTRUCTOR, {**values, "title": "Second"}, based_on=1)
    with pytest.raises(EntryRefused, match="version 2 was stored meanwhile"):
        checklists.save_draft(repo, made.LEARNER, {**values, "title": "Third"}, based_on=1)
    with pytest.raises(EntryRefused, match="'short_sheet' is taken by 'Second'"):
        checklists.save_draft(repo, made.LEARNER, values)


def test_faults_of_a_draft_say_where_they_lie(repo: Repository) -> None:
    """All of them at once, by section, step and part; nothing is stored."""
    values = values_of(repo.checklist("short_sheet"))
    steps = values["section"][0]["step"]
    steps[0]["caution"] = ""
    steps[1]["sides"] = ["up"]
    steps[0]["criteria"][0]["text"] = ""
    with pytest.raises(ChecklistRefused) as refused:
        checklists.save_draft(repo, made.INSTRUCTOR, values, based_on=1)
    assert [fault.where for fault in refused.value.faults] == [
        "All, Romberg, criterion 1",
        "All, Romberg",
        "All, Knee reflex",
    ]
    assert len(repo.sheets().versions("short_sheet")) == 1


def test_a_copy_is_a_sheet_of_its_own(repo: Repository) -> None:
    """It begins at version 1 under its id; the old sheet stays; an id that is none or taken is refused."""
    copied = checklists.copy(repo, made.LEARNER, "short_sheet", "mine")
    assert (copied.id, copied.version, copied.title) == ("mine", 1, "Short sheet, copy")
    assert copied.sections == repo.checklist("short_sheet").sections
    with pytest.raises(EntryRefused, match="is taken"):
        checklists.copy(repo, made.LEARNER, "short_sheet", "mine")
    with pytest.raises(ChecklistRefused, match="expected small letters"):
        checklists.copy(repo, made.LEARNER, "short_sheet", "My sheet")


def test_a_retired_sheet_is_not_offered_and_its_attempts_keep_it(repo: Repository) -> None:
    """It comes back when it is brought back; a peer may do neither; an unknown one is not found."""
    checklists.retire(repo, made.INSTRUCTOR, "short_sheet")
    checklists.retire(repo, made.INSTRUCTOR, "short_sheet")
    assert repo.sheets().offered() == ()
    assert repo.sheet_of(repo.recordings()[0]).id == "short_sheet"
    with pytest.raises(EntryRefused, match="is retired"):
        repo.sheets().for_attempt("short_sheet")
    with pytest.raises(NotAllowed):
        checklists.bring_back(repo, made.PEER, "short_sheet")
    checklists.bring_back(repo, made.INSTRUCTOR, "short_sheet")
    assert [sheet.id for sheet in repo.sheets().offered()] == ["short_sheet"]
    with pytest.raises(NotFound):
        checklists.retire(repo, made.INSTRUCTOR, "short_shed")
