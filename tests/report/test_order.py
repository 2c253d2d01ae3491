"""What was unusual about the order of the steps, in words."""

from __future__ import annotations

import pytest

from review.domain.checklist import Checklist
from review.domain.checklist_file import parse_checklist
from review.domain.model import Mark
from review.report.order import Place, order_words
from tests.store import made

STEPS = "".join(
    f'''
[[section.step]]
id = "{name}"
title = "{name.capitalize()}"
action = "Do it."
expected = "It is seen."
caution = "Take care."
points = 1
{sides}
'''
    for name, sides in (("first", ""), ("second", ""), ("third", ""), ("knee", 'sides = ["right", "left"]'))
)
SHEET: Checklist = parse_checklist(made.SHEET[: made.SHEET.index("[[section.step]]")] + STEPS, "order")


def done(*onsets: tuple[str, str | None, float]) -> dict[Place, list[Mark]]:
    """Make marks of a second from (step, side, onset)."""
    found: dict[Place, list[Mark]] = {}
    for number, (step, side, onset_s) in enumerate(onsets):
        one = made.mark(f"m{number}", step_id=step, side=side, onset_s=onset_s)
        found.setdefault((step, one.side), []).append(one)
    return found


def test_a_run_as_the_sheet_has_it_is_told_nothing_of() -> None:
    """In order, both sides, each once; steps that are not marked say nothing."""
    words = order_words(SHEET, done(("first", None, 1), ("third", None, 5), ("knee", "right", 9), ("knee", "left", 12)))
    assert set(map(tuple, words.values())) == {()}
    assert order_words(SHEET, {}) == {}


@pytest.mark.parametrize(
    ("onsets", "place", "sentence"),
    [
        (
            [("second", None, 1), ("third", None, 5), ("first", None, 9)],
            ("first", None),
            "Out of the sheet's order: done after Third",
        ),
        (
            [("third", None, 1), ("first", None, 5), ("second", None, 9)],
            ("third", None),
            "Out of the sheet's order: done first",
        ),
        ([("first", None, 1), ("first", None, 6)], ("first", None), "Repeated: marked 2 times, values of the last"),
        ([("knee", "left", 1)], ("knee", "left"), "On one side only: the left"),
    ],
    ids=["late", "early", "repeated", "one side"],
)
def test_what_was_unusual_is_said_once(
    onsets: list[tuple[str, str | None, float]], place: Place, sentence: str
) -> None:
    """Only the step that was moved is named, not those around it."""
    words = order_words(SHEET, done(*onsets))
    assert words.pop(place) == [sentence]
    assert set(map(tuple, words.values())) <= {()}


def test_the_last_of_a_repeated_step_does_not_put_it_out_of_order() -> None:
    """A step that is done again later was still begun in its place."""
    words = order_words(SHEET, done(("first", None, 1), ("second", None, 5), ("first", None, 9)))
    assert words["first", None] == ["Repeated: marked 2 times, values of the last"]
    assert words["second", None] == []
