from __future__ import annotations

from dataclasses import replace

import pytest

from review.actions import grades, signing
from review.actions.uncovering import uncover
from review.domain.model import Person
from review.domain.signoff import Finding, SignOff
from review.report.sign_off import sign_off_json, sign_off_of
from review.store.repository import Repository
from tests.actions.conftest import filled, repo
from tests.actions.test_signing import RECORDING, grade_all
from tests.store import made

__all__ = ["filled", "repo"]

SECOND = Person("p-second", "I-02", made.INSTRUCTOR.role)


@pytest.fixture
def signed(repo: Repository) -> SignOff:
    """Sign the attempt with a condition, as I-01, who graded every step."""
    repo.put_person(SECOND)
    grade_all(repo)
    return signing.sign(repo, made.INSTRUCTOR, RECORDING, Finding.WITH_CONDITIONS, "Guard again.")


@pytest.mark.parametrize(
    ("person", "words", "conditions", "sums"),
    [
        (made.INSTRUCTOR, "passed with conditions", "Guard again.", "6 of 6 points; by the sheet's own rule: passed."),
        (made.LEARNER, "passed with conditions", "Guard again.", ""),
        (made.PEER, "covered", "", ""),
        (SECOND, "covered", "", ""),
    ],
    ids=["signer", "learner", "peer", "second instructor"],
)
def test_who_is_told_what_before_grading(
    repo: Repository, signed: SignOff, person: Person, words: str, conditions: str, sums: str
) -> None:
    """The learner is told the finding, but not what it rests on; blind raters are told only that it is signed."""
    (told,) = sign_off_of(repo, person, RECORDING).versions
    assert (told.words, told.conditions, told.sum_words) == (words, conditions, sums)
    assert (told.person.code, told.signed.digest) == ("I-01", signed.digest)
    text = str(sign_off_json(repo, person, RECORDING))
    assert ("Guard again." in text) is bool(conditions)


@pytest.mark.parametrize("person", [made.LEARNER, made.PEER, SECOND], ids=["learner", "peer", "second instructor"])
def test_all_is_told_once_it_is_uncovered(repo: Repository, signed: SignOff, person: Person) -> None:
    """Whoever has uncovered every step sees finding, conditions, points and reasons."""
    uncover(repo, person, RECORDING)
    (told,) = sign_off_json(repo, person, RECORDING)["versions"]
    assert told["words"] == "passed with conditions"
    assert told["sum"] == "6 of 6 points; by the sheet's own rule: passed."
    assert told["reasons"] == ["All critical steps are done (1)."]


def test_a_change_since_is_told_and_named_where_it_is_uncovered(repo: Repository, signed: SignOff) -> None:
    """Everybody is told that something was changed; what, only who may see the grades."""
    grades.give(repo, made.INSTRUCTOR, RECORDING, "knee", "left", "not_yet", confidence=3)
    for person, changes in (
        (made.INSTRUCTOR, ("Knee reflex, left: yes when it was signed, not yet now.",)),
        (made.LEARNER, ()),
    ):
        told = sign_off_of(repo, person, RECORDING)
        assert (told.changed, told.changes) == (True, changes)


def test_grades_of_others_change_nothing(repo: Repository, signed: SignOff) -> None:
    """It rests on the signer's grades alone."""
    grade_all(repo, made.LEARNER, "not_yet")
    assert not sign_off_of(repo, made.LEARNER, RECORDING).changed


def test_what_was_taken_back_says_so(repo: Repository, signed: SignOff) -> None:
    """The last version holds: nothing is found any more, and the reason is told; the version before stays."""
    signing.take_back(repo, made.INSTRUCTOR, RECORDING, "Wrong attempt.")
    told = sign_off_of(repo, made.LEARNER, RECORDING)
    assert told.last is not None
    assert (told.last.words, told.last.conditions, told.last.finding) == ("taken back", "Wrong attempt.", None)
    assert [one.words for one in told.versions] == ["passed with conditions", "taken back"]


def test_only_who_may_sign_is_given_what_it_takes(repo: Repository, signed: SignOff) -> None:
    """An instructor is told the findings to choose from and which of their own grades are missing; nobody else is."""
    assert sign_off_json(repo, made.LEARNER, RECORDING)["signing"] is None
    assert sign_off_json(repo, SECOND, replace(RECORDING, id="none", checklist_id=None))["signing"] is None
    given = sign_off_json(repo, SECOND, RECORDING)["signing"]
    assert given["ungraded"] == ["Romberg", "Knee reflex, right", "Knee reflex, left"]
    assert [one["key"] for one in given["findings"]] == [one.value for one in Finding]
    own = sign_off_json(repo, made.INSTRUCTOR, RECORDING)["signing"]
    assert (own["ungraded"], own["ground"]) == ([], signing.ground(repo, made.INSTRUCTOR, RECORDING).digest)
