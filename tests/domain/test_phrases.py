"""Phrases that authors write, and what they stand for."""

from __future__ import annotations

import pytest

from review.domain.checklist_file import parse_checklist
from review.domain.errors import ChecklistRefused
from review.domain.phrases import MOST_RUNS, Slot, runs
from tests.domain.whole_sheet import WHOLE


def _texts(phrase: str) -> list[str]:
    return [" ".join(part if isinstance(part, str) else f"<{part.kind}>" for part in run) for run in runs(phrase)]


@pytest.mark.parametrize(
    ("phrase", "stands_for"),
    [
        ("pupils are equal", ["pupils are equal"]),
        ("romberg [is] negative", ["romberg is negative", "romberg negative"]),
        ("(biceps | biceps reflex) present", ["biceps present", "biceps reflex present"]),
        ("[the] (smile|grin) is equal", ["the smile is equal", "the grin is equal", "smile is equal", "grin is equal"]),
        ("biceps {grade} plus [on the {side}]", None),
        ("accommodation", ["accommodation"]),
    ],
)
def test_what_a_phrase_stands_for(phrase: str, stands_for: list[str] | None) -> None:
    """Optional words and alternatives are written out; a slot cannot stand inside of a bracket."""
    if stands_for is None:
        with pytest.raises(ValueError, match="stands inside of another"):
            runs(phrase)
    else:
        assert _texts(phrase) == stands_for


def test_slots_know_what_they_expect() -> None:
    """A grade may be written with or without its plus sign."""
    assert runs("biceps reflex {grade: 2+}") == (("biceps", "reflex", Slot("grade", "2")),)
    assert runs("biceps on the {side}") == (("biceps", "on", "the", Slot("side")),)


@pytest.mark.parametrize(
    ("phrase", "why"),
    [
        ("any pain", "too short"),
        ("corrected", "too short"),
        ("[romberg] negative", "too short"),
        ("romberg is (negative", "no partner"),
        ("romberg | negative", "outside of round brackets"),
        ("biceps reflex {force}", "no slot"),
        ("biceps reflex {grade: 7}", "expected 0, 1, 2, 3 or 4"),
        ("biceps reflex {side: both}", "expected left or right"),
        ("(a|b|c|d|e) (a|b|c|d|e) is symmetrical", f"up to {MOST_RUNS}"),
    ],
)
def test_faulty_phrases_say_what_is_wrong(phrase: str, why: str) -> None:
    """Each fault names the phrase and what to do."""
    with pytest.raises(ValueError, match=why):
        runs(phrase)


def test_faulty_phrases_of_a_sheet_are_named_with_their_lines() -> None:
    """The checklist is refused with the phrase's own line; a sheet whose plain findings are short is not."""
    faulty = WHOLE.replace('"knee [jerk] {grade: 2} plus"', '"knee [jerk"')
    with pytest.raises(ChecklistRefused) as refusal:
        parse_checklist(faulty, "faulty.toml")
    (fault,) = refusal.value.faults
    assert "no partner" in fault.text
    assert faulty.splitlines()[fault.line - 1].startswith("spoken")


def test_without_phrases_of_its_own_a_step_is_listened_for_by_its_findings() -> None:
    """Those that are long enough; the others are only shown."""
    step = parse_checklist(WHOLE, "whole.toml").step("eyes_closed")
    assert step.finding == ("steady", "[no] step")
    assert step.listened == (("[no]", "step"),) or step.listened == ()
    knee = parse_checklist(WHOLE, "whole.toml").step("knee")
    assert ("knee", Slot("grade", "2"), "plus") in knee.listened
    assert ("patellar", "reflex", "is", "equal") in knee.listened
