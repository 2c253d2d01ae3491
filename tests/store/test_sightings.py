"""Sightings on the disk: what was put comes back, rounded no further than the tracks are."""

from __future__ import annotations

import numpy as np
import pytest

from review.domain.errors import StoreBroken
from review.domain.sightings import SIGHTED, empty_sightings
from review.store.home import Home
from review.store.sightings import SightingStore


def test_what_was_put_comes_back_and_erasing_leaves_nothing(home: Home) -> None:
    """Numbers are equal to a sixteenth of a pixel, absences stay, and the names of the units are kept."""
    seen = empty_sightings([0.0, 0.5, 1.25])
    seen["body"][1, 0] = 1
    seen["pose_xy"][1, 0] = np.random.default_rng(3).uniform(0, 1920, (33, 2))
    store = SightingStore(home, "a1b2c3")
    assert store.units() == set()
    store.put("0-300:pose@5+face@30.5", seen)
    assert store.units() == {"0-300:pose@5+face@30.5"}
    back = store.get("0-300:pose@5+face@30.5")
    assert back["time"].values.tolist() == [0.0, 0.5, 1.25]
    for name in SIGHTED:
        np.testing.assert_allclose(back[name].values, seen[name].values, atol=1 / 32, err_msg=name)
    store.erase()
    assert store.units() == set()
    with pytest.raises(StoreBroken, match="Analyse the film again"):
        store.get("0-300:pose@5+face@30.5")
