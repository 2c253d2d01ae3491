"""What is told of a finding in the seconds of its step."""

from __future__ import annotations

import pytest

from review.domain.model import Interval, Side
from review.domain.spoken import Heard, Hit
from review.measures.spoken_finding import AFTER_S, BEFORE_S, listened_seconds, spoken_finding

STEP = Interval(10.0, 20.0)


def _hit(at_s: float, heard: Heard = "said", confidence: float = 0.95, side: Side | None = None) -> Hit:
    return Hit("biceps", heard, Interval(at_s, at_s + 1.0), confidence, "biceps two plus", side)


def test_nothing_in_the_seconds_is_not_heard() -> None:
    """What was said elsewhere in the film says nothing of this step."""
    assert spoken_finding([_hit(3.0), _hit(40.0)], None, STEP).verdict == "not heard"


@pytest.mark.parametrize(
    ("hits", "verdict", "at_s"),
    [
        ([_hit(12.0)], "said", 12.0),
        ([_hit(12.0, "other"), _hit(15.0)], "said", 15.0),
        ([_hit(15.0, "other"), _hit(12.0)], "other", 15.0),
        ([_hit(12.0), _hit(15.0, "unclear")], "said", 12.0),
        ([_hit(12.0, "unclear")], "unclear", 12.0),
    ],
    ids=["said", "put right", "said otherwise at last", "an unclear one later", "unclear only"],
)
def test_the_last_clear_one_counts(hits: list[Hit], verdict: str, at_s: float) -> None:
    """Who corrects oneself means the last; unclear ones count only where nothing is clear."""
    found = spoken_finding(hits, None, STEP)
    assert found.verdict == verdict
    assert found.hit is not None
    assert found.hit.interval.onset_s == at_s
    assert len(found.earlier) == len(hits) - 1


@pytest.mark.parametrize(
    ("said", "done", "verdict"),
    [("left", "left", "said"), ("left", "right", "other"), (None, "right", "said"), ("left", None, "said")],
)
def test_the_other_side_is_another_value(said: Side | None, done: Side | None, verdict: str) -> None:
    """On a step with sides a finding of the other side is not this step's; without a side said it is."""
    found = spoken_finding([_hit(12.0, side=said)], done, STEP)
    assert found.verdict == verdict
    if verdict == "other":
        assert found.hit is not None
        assert found.hit.value == said


def test_the_finding_may_follow_the_step() -> None:
    """It is listened for a little before and after the mark, and not once another step began."""
    assert listened_seconds(STEP, []) == Interval(10.0 - BEFORE_S, 20.0 + AFTER_S)
    assert listened_seconds(STEP, [5.0, 22.0, 24.0]) == Interval(10.0 - BEFORE_S, 22.0)
    assert listened_seconds(Interval(0.2, 1.0), [1.0]) == Interval(0.0, 1.0)


def test_sure_is_confident_and_clear() -> None:
    """Two levels: sure from 0.8 on; what is unclear is never sure."""
    assert [_hit(1.0, confidence=level).sure for level in (0.79, 0.8, 1.0)] == [False, True, True]
    assert not _hit(1.0, "unclear", 1.0).sure
