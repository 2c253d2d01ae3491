"""Sightings: what they look like when nobody was seen, and how stretches are put together."""

from __future__ import annotations

import numpy as np
import pytest

from review.domain.errors import TracksBroken
from review.domain.sightings import FLAGS, MOST_PEOPLE, SIGHTED, check_sightings, empty_sightings, joined


def test_empty_sightings_keep_the_contract_and_show_nobody() -> None:
    """Fresh sightings pass their own check; flags are 0 and numbers NaN."""
    empty = check_sightings(empty_sightings([0.0, 0.5]))
    assert empty.sizes["person"] == MOST_PEOPLE
    assert not any(empty[name].values.any() for name in FLAGS)
    assert all(np.isnan(empty[name].values).all() for name in SIGHTED if name not in FLAGS)


def test_stretches_are_joined_in_the_order_of_time_and_a_time_met_twice_counts_once() -> None:
    """Parts may come in any order and overlap."""
    early, late = empty_sightings([0.0, 1.0]), empty_sightings([1.0, 2.0])
    early["body"][1, 0] = 1
    whole = check_sightings(joined([late, empty_sightings([]), early]))
    assert whole["time"].values.tolist() == [0.0, 1.0, 2.0]
    assert joined([]).sizes["time"] == 0


def test_all_faults_are_named_at_once() -> None:
    """A dataset without two of its variables is refused with both names."""
    with pytest.raises(TracksBroken, match=r"body is missing; head is missing"):
        check_sightings(empty_sightings([0.0]).drop_vars(["body", "head"]))
