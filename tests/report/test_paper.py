"""Sheets on paper: blank, and filled with what one rater gave."""

from __future__ import annotations

from dataclasses import replace

from review.actions import grades
from review.checklists import shipped
from review.domain.checklist_file import parse_checklist, read_checklist
from review.report.outcome_words import rule_words
from review.report.paper import blank_page, filled_page
from review.report.results import added_up, rater_of, raters
from review.store.repository import Repository
from tests.actions.conftest import filled, repo
from tests.domain.whole_sheet import WHOLE
from tests.store import made

__all__ = ["filled", "repo"]

BOX, CHOSEN = "\u25a1", "\u25a0"


def test_a_blank_sheet_has_a_box_for_every_level_and_room_to_sign() -> None:
    """Six steps and two criteria with three levels each; every caution; lines for initials, date and signature."""
    sheet = read_checklist(shipped("balance_only"))
    page = blank_page(sheet)
    assert page.count(BOX) == 3 * (6 + 2)
    assert CHOSEN not in page
    assert page.count('class="caution"') == 6
    assert all(word in page for word in ("Initials", "Signature", "Learner", "Date"))


def test_text_of_a_sheet_cannot_become_markup() -> None:
    """Whoever writes a title writes text."""
    page = blank_page(replace(read_checklist(shipped("balance_only")), title="<script>alert(1)</script>"))
    assert "<script>" not in page
    assert "&lt;script&gt;" in page


def test_the_pass_rule_in_words() -> None:
    """All that a sheet asks for is said in a sentence."""
    assert rule_words(parse_checklist(WHOLE, "whole")) == (
        "9 points. To pass: 75 % of the points; 50 % in each section; 90 % in Reflexes; every critical step (\u25c6) "
        "done; all time limits kept. Time limit: 10 min."
    )


def test_a_filled_sheet_shows_grades_points_and_the_outcome(repo: Repository) -> None:
    """Two of three places graded: the level is marked, its points stand beside it, the outcome is open."""
    recording = repo.recordings()[0]
    grades.give(repo, made.LEARNER, recording, "romberg", None, "yes", confidence=3)
    grades.give(repo, made.LEARNER, recording, "knee", "left", "not_yet", confidence=3)
    page = filled_page(added_up(repo, made.LEARNER, recording, made.LEARNER))
    assert page.count(CHOSEN) == 2
    assert "2 / 2" in page
    assert "0 / 2" in page
    assert "Passed: 2 of 6 points so far" in page
    assert "Not graded yet: 1 of 3." in page


def test_what_is_covered_is_not_added_up(repo: Repository) -> None:
    """Who has not graded yet sees neither others' grades nor what they come to; afterwards both."""
    recording = repo.recordings()[0]
    grades.give(repo, made.LEARNER, recording, "romberg", None, "not_yet", confidence=3)
    assert [one.code for one in raters(repo, made.INSTRUCTOR, recording)] == ["L-07"]
    rater = rater_of(repo, made.INSTRUCTOR, recording, "L-07")
    before = added_up(repo, made.INSTRUCTOR, recording, rater)
    assert (before.grades, before.covered, before.result) == ((), 1, None)
    assert "Still covered for you: 1" in filled_page(before)
    assert CHOSEN not in filled_page(before)
    grades.give(repo, made.INSTRUCTOR, recording, "romberg", None, "yes", confidence=3)
    after = added_up(repo, made.INSTRUCTOR, recording, rater)
    assert after.result is not None
    assert after.result.outcome == "not passed"
