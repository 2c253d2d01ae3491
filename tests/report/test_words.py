"""Numbers as people say them."""

from dataclasses import replace

import pytest

from review.domain.checklist import Target
from review.domain.measure import Measure
from review.domain.model import Estimate, Event, Interval, Reason, Value
from review.report.words import missed_words, said, target_words, value_words


def _measure(unit: str, unit_words: str = "") -> Measure:
    nothing = lambda tracks: tracks  # noqa: E731 - never called here
    return Measure(
        name="m", title="M", trace=nothing, summarise=nothing, unit=unit, unit_words=unit_words, needs=(), reference=""
    )


STANCE = _measure("1", "shoulder widths")
SHARE = _measure("1", "% of the time")
ANGLE = _measure("deg")


@pytest.mark.parametrize(
    ("number", "spread", "words"),
    [
        (1.1234, 0.2, "1.1"),
        (1.1234, 0.05, "1.12"),
        (20.333, 0.6, "20.3"),
        (7.04, 3.0, "7.0"),
        (412.3, 30.0, "412"),
        (-0.001, 1.5, "0.0"),
    ],
)
def test_a_number_has_the_decimals_its_interval_supports(number: float, spread: float, words: str) -> None:
    """Wide intervals lose decimals, and a rounded zero has no sign."""
    assert said(number, spread) == words


def test_a_value_says_number_interval_and_expectation() -> None:
    """All three stand in one line, in the unit people say."""
    target = Target("m", 0.9, 1.2, "1", "")
    words = value_words(STANCE, Estimate(1.1, 1.0, 1.2, 1.0), target)
    assert words == "1.1 shoulder widths, 95 % 1.0 to 1.2 (expected 0.9 to 1.2)"


def test_a_share_is_said_in_per_cent() -> None:
    """A ratio whose words begin with the per cent sign is scaled, its target too."""
    words = value_words(SHARE, Estimate(0.925, 0.92, 0.93, 1.0), Target("m", 0.8, None, "1", ""))
    assert words == "92.5 % of the time, 95 % 92.0 to 93.0 (expected at least 80 %)"


def test_a_missing_value_says_why_and_what_was_expected() -> None:
    """No number is ever shown bare: the reasons stand in its place."""
    estimate = Estimate(None, None, None, 0.0, (Reason.FACE_SMALL, Reason.HEAD_TURNED))
    words = value_words(ANGLE, estimate, Target("m", None, 30, "deg", ""))
    assert words == (
        "no number: face too small in the picture and head turned too far from the camera (expected at most 30 deg)"
    )


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [(6, 6, "6 deg"), (20, None, "at least 20 deg"), (None, 0.45, "at most 0.45 deg"), (-5, 5, "-5 to 5 deg")],
)
def test_targets_in_words(low: float | None, high: float | None, words: str) -> None:
    """Open ends, equal ends and both ends each have their own wording."""
    assert target_words(ANGLE, Target("m", low, high, "deg", "")) == words


def test_missed_parts_are_named() -> None:
    """Of six positions the one without an event is named; a missing number names none."""
    kinds = ("left", "left_up", "left_down", "right", "right_up", "right_down")
    sweep = replace(_measure("1", "of 6 positions"), parts=kinds)
    seen = tuple(Event(kind, Interval(1.0, 2.0)) for kind in kinds if kind != "left_down")
    value = Value("film", "m", "1", Estimate(5.0, 5.0, 5.0, 1.0), events=seen)
    assert missed_words(sweep, value) == "missed: left down"
    assert missed_words(sweep, replace(value, estimate=Estimate(None, None, None, 0.0))) == ""
    assert missed_words(STANCE, value) == ""
