"""Sightings: what they look like when nobody was seen."""

from __future__ import annotations

import numpy as np
import pytest

from review.domain.errors import TracksBroken
from review.domain.sightings import FLAGS, MOST_PEOPLE, SIGHTED, check_sightings, empty_sightings


def test_empty_sightings_keep_the_contract_and_show_nobody() -> None:
    """Fresh sightings pass their own check; flags are 0 and numbers NaN."""
    empty = check_sightings(empty_sightings([0.0, 0.5]))
    assert empty.sizes["person"] == MOST_PEOPLE
    assert not any(empty[name].values.any() for name in FLAGS)
    assert all(np.isnan(empty[name].values).all() for name in SIGHTED if name not in FLAGS)


def test_all_faults_are_named_at_once() -> None:
    """A dataset without two of its variables is refused with both names."""
    with pytest.raises(TracksBroken, match=r"body is missing; head is missing"):
        check_sightings(empty_sightings([0.0]).drop_vars(["body", "head"]))
