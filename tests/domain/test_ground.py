from __future__ import annotations

from dataclasses import replace

from review.domain.checklist_file import parse_checklist
from review.domain.ground import changes_since, ground_of
from review.domain.model import Interval
from tests.store import made

SHEET = parse_checklist(made.SHEET, "short")
RECORDING = made.recording()


def test_what_it_rests_on_is_held_against_what_is_now() -> None:
    """Grades that are changed, taken back or added, marks that are moved, another sheet and another film are named."""
    grades = [made.grade("g1"), made.grade("g2", side="right"), made.grade("g3", step_id="romberg", side=None)]
    marks = [made.mark("m1"), made.mark("m2", step_id="knee", side="left", onset_s=5.0)]
    then = ground_of(RECORDING, SHEET, made.LEARNER.id, grades, marks)
    other = replace(grades[0], id="g5", level="not_yet", person_id="p-peer")
    later = [
        replace(grades[0], level="not_yet"),
        grades[1],
        other,
        made.grade("g4", step_id="romberg", side=None, criterion_id="guard"),
    ]
    moved = [replace(marks[0], interval=Interval(1.5, 4.0))]
    now = ground_of(
        replace(RECORDING, sha256="f" * 64), replace(SHEET, version=2), made.LEARNER.id, later, [moved[0], marks[1]]
    )
    assert changes_since(then.facts, now) == (
        "The film is another one.",
        "The attempt was reviewed by short_sheet, version 1, and is now by short_sheet, version 2.",
        "Knee reflex, left: yes when it was signed, not yet now.",
        "Romberg: yes when it was signed, not graded now.",
        "Romberg, The examiner stands guard: not graded when it was signed, yes now.",
        "Romberg: marked otherwise than when it was signed.",
    )


def test_the_order_of_grades_and_their_confidence_change_nothing() -> None:
    """What rests on the same levels and seconds is the same, in whatever order and however sure."""
    grades = [made.grade("g1"), made.grade("g2", side="right")]
    then = ground_of(RECORDING, SHEET, made.LEARNER.id, grades, [made.mark()])
    now = ground_of(
        RECORDING, SHEET, made.LEARNER.id, [grades[1], replace(grades[0], confidence=1, id="g9")], [made.mark("m7")]
    )
    assert then.digest == now.digest
    assert changes_since(then.facts, now) == ()
