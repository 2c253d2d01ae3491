from __future__ import annotations

from dataclasses import replace

import pytest

from review.actions import grades, marks, signing
from review.actions.operations import apply
from review.domain.checklist import NOT_ASSESSABLE
from review.domain.checklist_file import parse_checklist
from review.domain.errors import EntryRefused, NotAllowed
from review.domain.model import Person
from review.domain.signoff import Finding, faults_of
from review.store.repository import Repository
from tests.store import made

RECORDING = made.recording()
WHERE = (("romberg", None), ("knee", "right"), ("knee", "left"))


def grade_all(repo: Repository, person: Person = made.INSTRUCTOR, level: str = "yes") -> None:
    """Grade every step of the sheet."""
    for step, side in WHERE:
        grades.give(repo, person, RECORDING, step, side, level, confidence=3)


def test_a_sign_off_rests_on_ones_own_grades(repo: Repository) -> None:
    """It keeps the signer's grades and marks, what they add up to, film and sheet; nothing of anybody else's."""
    grade_all(repo)
    grade_all(repo, made.LEARNER, "not_yet")
    marks.place(repo, made.INSTRUCTOR, RECORDING, "romberg", None, 1.0, 4.5)
    marks.place(repo, made.LEARNER, RECORDING, "romberg", None, 2.0, 4.5)
    made_one = signing.sign(repo, made.INSTRUCTOR, RECORDING, Finding.PASSED)
    assert repo.sign_offs().of(RECORDING.id) == (made_one,)
    rests_on = made_one.facts["rests_on"]
    assert {one["level"] for one in rests_on["grades"]} == {"yes"}
    assert rests_on["marks"] == [{"step": "romberg", "side": None, "onset_ms": 1000, "offset_ms": 4500}]
    assert (rests_on["film_sha256"], rests_on["checklist"]) == (RECORDING.sha256, "short_sheet")
    assert made_one.facts["added_up"] == {
        "outcome": "passed",
        "won": "6",
        "possible": "6",
        "share": "1.000000",
        "reasons": [
            "All critical steps are done (1).",
        ],
    }


def test_only_instructors_sign(repo: Repository) -> None:
    """A learner or a peer may neither sign nor take back."""
    grade_all(repo)
    signing.sign(repo, made.INSTRUCTOR, RECORDING, Finding.PASSED)
    for person in (made.LEARNER, made.PEER):
        grade_all(repo, person)
        with pytest.raises(NotAllowed, match="may not sign off this recording"):
            signing.sign(repo, person, RECORDING, Finding.PASSED)
        with pytest.raises(NotAllowed, match="may not sign off this recording"):
            signing.take_back(repo, person, RECORDING, "no")
    assert repo.sign_offs().count(RECORDING.id) == 1


def test_missing_grades_are_listed(repo: Repository) -> None:
    """Whoever has not graded every step is told which; others' grades do not stand in."""
    grade_all(repo, made.LEARNER)
    grades.give(repo, made.INSTRUCTOR, RECORDING, "knee", "left", "yes")
    with pytest.raises(EntryRefused, match="2 of 3 are missing: Romberg; Knee reflex, right") as refused:
        signing.sign(repo, made.INSTRUCTOR, RECORDING, Finding.AGAIN, "All of it.")
    assert "not assessable" in str(refused.value)
    assert repo.sign_offs().count(RECORDING.id) == 0


@pytest.mark.parametrize(
    ("level", "finding", "told"),
    [
        ("not_yet", Finding.PASSED, "come to: not passed. Critical step missed: Romberg"),
        (NOT_ASSESSABLE, Finding.PASSED, "come to: open. Critical step not assessable: Romberg"),
        ("yes", Finding.NOT_PASSED, "come to: passed. All critical steps are done"),
        ("yes", Finding.WITH_CONDITIONS, "came without conditions"),
        ("not_yet", Finding.WITH_CONDITIONS, "come to: not passed"),
        ("yes", Finding.AGAIN, "came without conditions"),
    ],
    ids=["passed though missed", "passed though open", "not passed though passed", "no conditions", "both", "again"],
)
def test_what_contradicts_the_sheets_rule_needs_a_why(
    repo: Repository, level: str, finding: Finding, told: str
) -> None:
    """Without words it is refused with the rule's own reasons; with words it is signed, and the words stand on it."""
    grade_all(repo, level="yes")
    grades.give(repo, made.INSTRUCTOR, RECORDING, "romberg", None, level, confidence=3)
    with pytest.raises(EntryRefused, match=told):
        signing.sign(repo, made.INSTRUCTOR, RECORDING, finding, "   ")
    kept = signing.sign(repo, made.INSTRUCTOR, RECORDING, finding, " Shown again at once, guarded. ")
    assert (kept.finding, kept.conditions) == (finding, "Shown again at once, guarded.")


def test_each_change_is_a_version_and_none_is_written_over(repo: Repository) -> None:
    """Signed, taken back with a reason, signed anew: three versions in a chain that holds."""
    grade_all(repo)
    first = signing.sign(repo, made.INSTRUCTOR, RECORDING, Finding.PASSED)
    with pytest.raises(EntryRefused, match="No reason came"):
        signing.take_back(repo, made.INSTRUCTOR, RECORDING, " ")
    back = signing.take_back(repo, made.INSTRUCTOR, RECORDING, "Wrong attempt.")
    with pytest.raises(EntryRefused, match="Nothing is signed that could be taken back"):
        signing.take_back(repo, made.INSTRUCTOR, RECORDING, "Again.")
    third = signing.sign(repo, made.INSTRUCTOR, RECORDING, Finding.PASSED)
    chain = repo.sign_offs().of(RECORDING.id)
    assert chain == (first, back, third)
    assert [one.finding for one in chain] == [Finding.PASSED, None, Finding.PASSED]
    assert back.conditions == "Wrong attempt."
    assert faults_of(chain) == ()


def test_signing_the_same_twice_is_refused_until_something_changed(repo: Repository) -> None:
    """A second press makes no second version; a grade that is changed does."""
    grade_all(repo)
    signing.sign(repo, made.INSTRUCTOR, RECORDING, Finding.PASSED)
    with pytest.raises(EntryRefused, match="Version 1 says all of this already"):
        signing.sign(repo, made.INSTRUCTOR, RECORDING, Finding.PASSED)
    grades.give(repo, made.INSTRUCTOR, RECORDING, "knee", "left", "not_yet")
    assert signing.sign(repo, made.INSTRUCTOR, RECORDING, Finding.PASSED).version == 2


def test_nobody_signs_what_they_did_not_see(repo: Repository) -> None:
    """A version or a grade that came after the page was looked at stops the signing."""
    grade_all(repo)
    ground = signing.ground(repo, made.INSTRUCTOR, RECORDING).digest
    other = Person("p-second", "I-02", made.INSTRUCTOR.role)
    repo.put_person(other)
    grade_all(repo, other)
    signing.sign(repo, other, RECORDING, Finding.PASSED)
    with pytest.raises(EntryRefused, match="Somebody signed meanwhile"):
        signing.sign(repo, made.INSTRUCTOR, RECORDING, Finding.PASSED, "", signing.Seen(0, ground))
    with pytest.raises(EntryRefused, match="Somebody signed meanwhile"):
        signing.take_back(repo, made.INSTRUCTOR, RECORDING, "Why.", signing.Seen(0, ground))
    grades.give(repo, made.INSTRUCTOR, RECORDING, "knee", "left", "not_yet")
    with pytest.raises(EntryRefused, match="not those that you looked at"):
        signing.sign(repo, made.INSTRUCTOR, RECORDING, Finding.PASSED, "", signing.Seen(1, ground))


def test_a_sheet_with_criteria_is_graded_by_them(repo: Repository) -> None:
    """Where criteria carry the points, grades of all of them stand for the step's."""
    text = made.SHEET.replace("version = 1", "version = 2").replace(
        'text = "The examiner stands guard."', 'text = "Guard.", points = 2'
    )
    repo.put_checklist(parse_checklist(text, "short"), text)
    attempt = replace(RECORDING, checklist_version=2)
    repo.update_recording(attempt)
    for side in ("right", "left"):
        grades.give(repo, made.INSTRUCTOR, attempt, "knee", side, "yes")
    with pytest.raises(EntryRefused, match="1 of 3 are missing: Romberg"):
        signing.sign(repo, made.INSTRUCTOR, attempt, Finding.PASSED)
    grades.give(repo, made.INSTRUCTOR, attempt, "romberg", None, "yes", "guard")
    assert signing.sign(repo, made.INSTRUCTOR, attempt, Finding.PASSED).version == 1


def test_words_that_are_far_too_long_are_refused(repo: Repository) -> None:
    """Conditions have room for a page, not for a book."""
    grade_all(repo)
    with pytest.raises(EntryRefused, match="2001 characters came; expected at most 2000"):
        signing.sign(repo, made.INSTRUCTOR, RECORDING, Finding.PASSED, "x" * 2001)


def test_a_browser_signs_and_takes_back_by_its_queue(repo: Repository) -> None:
    """The operations carry what the signer saw; what does not fit comes back as a fault, and nothing is signed."""
    grade_all(repo)
    ground = signing.ground(repo, made.INSTRUCTOR, RECORDING).digest
    sign = {"op": "sign_off", "result": "passed", "conditions": "", "versions": 0, "ground": ground}
    ops = [
        {"seq": 1, **sign, "result": "splendid"},
        {"seq": 2, **sign},
        {"seq": 3, **sign, "conditions": "Later."},
        {"seq": 4, "op": "take_back_sign_off", "reason": "Wrong film.", "versions": 1},
    ]
    ack, faults = apply(repo, made.INSTRUCTOR, RECORDING.id, "browser-1", ops)
    assert ack == 4
    assert [one["seq"] for one in faults] == [1, 3]
    assert "No result is called 'splendid'" in faults[0]["message"]
    assert "Somebody signed meanwhile" in faults[1]["message"]
    assert [one.conditions for one in repo.sign_offs().of(RECORDING.id)] == ["", "Wrong film."]
