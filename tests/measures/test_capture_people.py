"""How many people a film is said to show, and when that is too many."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr

from review.domain.model import Reason
from review.domain.tracks import FOUND, empty_tracks
from review.measures import measure
from review.measures.capture_faults import capture_faults
from review.measures.capture_people import people_count

CLOCK = np.arange(900) / 30


def _counted(counts: list[int]) -> xr.Dataset:
    """Make tracks of half a minute in which people were counted once a second."""
    tracks = empty_tracks(CLOCK, 640, 480)
    rows = np.arange(len(counts)) * 30
    tracks["people_state"].values[rows] = FOUND
    tracks["people_count"].values[rows] = counts
    return tracks


@pytest.mark.parametrize(
    ("counts", "named"),
    [([1] * 30, False), ([2] * 30, False), ([2] * 27 + [3] * 3, False), ([2] * 15 + [4] * 15, True)],
    ids=["one", "a pair", "a third for a tenth of the time", "four for half of the time"],
)
def test_more_than_two_for_a_fifth_of_the_film_is_a_fault(counts: list[int], named: bool) -> None:
    """A pair is as it should be; one who passes by is no fault; a group is."""
    tracks = _counted(counts)
    kinds = [fault.kind for fault in capture_faults(tracks)]
    assert ("too_many" in kinds) == named


def test_the_value_is_the_usual_number_and_nothing_is_said_where_nobody_counted() -> None:
    """The median is told, and frames between two looks are gaps, not zeros."""
    of = measure("capture_people")
    trace = people_count(_counted([1, 2, 2, 2, 1]))
    assert of.summarise(trace)[0].value == 2
    assert np.isnan(trace.values[1])
    assert trace["reason"].values[1] == int(Reason.NOT_LOOKED)
    nothing = of.summarise(people_count(empty_tracks(CLOCK, 640, 480)))[0]
    assert (nothing.value, nothing.reasons) == (None, (Reason.NOT_LOOKED,))
