from __future__ import annotations

from dataclasses import replace

import pytest

from review.actions import grades
from review.actions.uncovering import uncover
from review.domain.checklist import NOT_ASSESSABLE
from review.domain.checklist_file import parse_checklist
from review.domain.errors import EntryRefused, NotFound
from review.store.repository import Repository
from tests.store import made

RECORDING = made.recording()


def test_a_second_grade_replaces_the_first_and_keeps_it(repo: Repository) -> None:
    """One person has one current grade for a place; what it was before stays in its history."""
    first = grades.give(repo, made.LEARNER, RECORDING, "knee", "left", "yes", confidence=3)
    second = grades.give(repo, made.LEARNER, RECORDING, "knee", "left", NOT_ASSESSABLE)
    assert repo.grades(RECORDING.id) == (second,)
    assert repo.grade_history(first.id) == (first, second)
    assert (second.level, second.confidence, second.revision) == (NOT_ASSESSABLE, None, 2)


def test_each_person_side_and_criterion_has_a_grade_of_its_own(repo: Repository) -> None:
    """Grades of other people, sides and criteria do not touch one another."""
    grades.give(repo, made.LEARNER, RECORDING, "knee", "left", "yes")
    grades.give(repo, made.LEARNER, RECORDING, "knee", "right", "not_yet")
    grades.give(repo, made.INSTRUCTOR, RECORDING, "knee", "left", "not_yet")
    grades.give(repo, made.LEARNER, RECORDING, "romberg", None, "yes")
    grades.give(repo, made.LEARNER, RECORDING, "romberg", None, "not_yet", criterion_id="guard")
    found = [(grade.person_id, grade.step_id, grade.side, grade.criterion_id) for grade in repo.grades(RECORDING.id)]
    assert found == [
        ("p-learner", "knee", "left", None),
        ("p-learner", "knee", "right", None),
        ("p-instructor", "knee", "left", None),
        ("p-learner", "romberg", None, None),
        ("p-learner", "romberg", None, "guard"),
    ]


def test_a_withdrawn_grade_can_be_given_again(repo: Repository) -> None:
    """Withdrawing takes the grade out of the current ones; the history shows all that was said."""
    given = grades.give(repo, made.PEER, RECORDING, "romberg", None, "yes")
    grades.withdraw(repo, made.PEER, RECORDING, "romberg", None)
    assert repo.grades(RECORDING.id) == ()
    with pytest.raises(NotFound, match="P-03 has given no grade for romberg"):
        grades.withdraw(repo, made.PEER, RECORDING, "romberg", None)
    grades.give(repo, made.PEER, RECORDING, "romberg", None, "not_yet")
    history = [(grade.level, grade.removed) for grade in repo.grade_history(given.id)]
    assert history == [("yes", False), ("yes", True), ("not_yet", False)]


def test_anothers_grade_cannot_be_withdrawn(repo: Repository) -> None:
    """What a peer withdraws is the peer's own grade, of which there is none."""
    grades.give(repo, made.LEARNER, RECORDING, "romberg", None, "yes")
    with pytest.raises(NotFound, match="P-03 has given no grade"):
        grades.withdraw(repo, made.PEER, RECORDING, "romberg", None)
    assert len(repo.grades(RECORDING.id)) == 1


@pytest.mark.parametrize(
    ("facts", "words"),
    [
        ({"level": "excellent"}, r"No grade level is called 'excellent'\. Known: not_assessable, not_yet, yes"),
        ({"criterion_id": "gard"}, "Did you mean guard"),
        ({"side": "left"}, "expected no side"),
        ({"step_id": "ankle"}, "No step is called 'ankle'"),
        ({"confidence": 4}, "confidence of 4 came; expected 1"),
        ({"confidence": 0}, "confidence of 0 came"),
    ],
    ids=["level", "criterion", "side", "step", "too sure", "less than unsure"],
)
def test_a_grade_that_does_not_fit_the_checklist_is_refused(
    repo: Repository, facts: dict[str, object], words: str
) -> None:
    """Levels, criteria, steps and sides are those of the sheet."""
    usual: dict[str, object] = {"step_id": "romberg", "side": None, "level": "yes"}
    with pytest.raises((EntryRefused, NotFound), match=words):
        grades.give(repo, made.LEARNER, RECORDING, **{**usual, **facts})
    assert repo.grades(RECORDING.id) == ()


def test_a_grade_says_whether_it_was_given_before_or_after_seeing(repo: Repository) -> None:
    """Blind until the step's grade has its confidence; what was seen stays seen, also after the grade is taken back."""
    given = [("yes", None), ("yes", 2), ("not_yet", 3)]
    history = [grades.give(repo, made.LEARNER, RECORDING, "romberg", None, level, None, sure) for level, sure in given]
    grades.withdraw(repo, made.LEARNER, RECORDING, "romberg", None)
    history.append(grades.give(repo, made.LEARNER, RECORDING, "romberg", None, "yes"))
    assert [grade.after_reveal for grade in history] == [False, False, True, True]
    blind = grades.give(repo, made.LEARNER, RECORDING, "knee", "left", "yes", None, 1)
    other = grades.give(repo, made.PEER, RECORDING, "romberg", None, "yes", None, 1)
    assert (blind.after_reveal, other.after_reveal) == (False, False)


def test_a_grade_of_a_criterion_uncovers_nothing(repo: Repository) -> None:
    """Only the step as a whole, graded with its confidence, uncovers it."""
    grades.give(repo, made.LEARNER, RECORDING, "romberg", None, "yes", "guard", 3)
    assert repo.uncoverings().of(RECORDING.id, made.LEARNER.id) == ()


def test_uncovering_all_counts_for_each_step(repo: Repository) -> None:
    """After a deliberate look at everything no grade is blind any more, whatever the step."""
    uncover(repo, made.LEARNER, RECORDING)
    assert grades.give(repo, made.LEARNER, RECORDING, "knee", "left", "yes", None, 1).after_reveal is True


def test_grades_of_all_criteria_that_carry_the_points_uncover_a_step(repo: Repository) -> None:
    """With confidence in each they stand for the step's own grade; while one is missing, nothing is seen."""
    text = made.SHEET.replace("version = 1", "version = 2").replace(
        'criteria = [{ id = "guard", text = "The examiner stands guard." }]',
        'criteria = [{ id = "guard", text = "Guard.", points = 1 }, { id = "time", text = "Time.", points = 1 }]',
    )
    repo.put_checklist(parse_checklist(text, "short"), text)
    attempt = replace(RECORDING, checklist_version=2)
    given = []
    for criterion, sure in (("guard", None), ("time", 3), ("guard", 2)):
        assert repo.uncoverings().of(RECORDING.id, made.LEARNER.id) == ()
        given.append(grades.give(repo, made.LEARNER, attempt, "romberg", None, "yes", criterion, sure))
    (seen,) = repo.uncoverings().of(RECORDING.id, made.LEARNER.id)
    assert (seen.step_id, seen.side) == ("romberg", None)
    given.append(grades.give(repo, made.LEARNER, attempt, "romberg", None, "yes", "guard", 3))
    assert [grade.after_reveal for grade in given] == [False, False, False, True]
