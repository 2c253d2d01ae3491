"""The three frames of a row are those that its values rest on, apart and in order."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from review.domain.model import Estimate, Interval, Value
from review.report.chosen_stills import COUNT, still_times

SECONDS = Interval(10.0, 22.0)


def value(*evidence: tuple[float, float]) -> Value:
    """Make a value that rests on these stretches."""
    return Value("a1", "m", "1", Estimate(1.0, 0.5, 1.5, 1.0, evidence=tuple(Interval(*one) for one in evidence)))


@pytest.mark.parametrize(
    ("values", "times"),
    [
        ((), [12.0, 16.0, 20.0]),
        ((value(),), [12.0, 16.0, 20.0]),
        ((value((10, 22)),), [12.0, 16.0, 20.0]),
        ((value((11, 11.2), (15.9, 16.1), (20.4, 20.6)),), [11.1, 16.0, 20.5]),
        ((value((11, 11.2), (13, 13.2), (15.9, 16.1), (18, 18.2), (21, 21)),), [11.1, 16.0, 21.0]),
        ((value((18, 21)),), [18.5, 19.5, 20.5]),
        ((value((12, 12), (20, 20)), value((16, 16))), [12.0, 16.0, 20.0]),
        ((value((5, 9), (40, 41)),), [12.0, 16.0, 20.0]),
    ],
    ids=["no values", "no evidence", "all of it", "three", "five", "one stretch", "two and another's", "elsewhere"],
)
def test_frames_are_where_the_evidence_is(values: tuple[Value, ...], times: list[float]) -> None:
    """Twelve seconds with evidence here and there; closed answers."""
    assert still_times(SECONDS, values) == pytest.approx(times)


MOMENT = st.floats(0, 60)
PART = st.tuples(MOMENT, MOMENT).map(lambda ends: (min(ends), max(ends)))


@given(seconds=PART.filter(lambda ends: ends[1] - ends[0] > 0.1), evidence=st.lists(PART, max_size=8))
def test_frames_lie_in_the_step_apart_and_in_order(
    seconds: tuple[float, float], evidence: list[tuple[float, float]]
) -> None:
    """Wherever the evidence lies, three different moments of the step come, rising."""
    whole = Interval(*seconds)
    times = still_times(whole, (value(*evidence),))
    assert len(times) <= COUNT
    assert times == sorted(set(times))
    assert all(whole.onset_s - 0.001 <= one <= whole.offset_s + 0.001 for one in times)
    assert all(two - one >= whole.duration_s / 12 - 0.002 for one, two in pairwise(times))
    assert len(times) == COUNT
