"""Biases learned on rendered people: taken off, and what is left of them kept in the interval."""

from __future__ import annotations

import math

import pytest

from review.domain.errors import BrokenPromise
from review.measures.learned import bias, bias_in, learned_elsewhere, table
from review.signals.uncertainty import NORMAL_95, Bias


def test_bias_is_taken_off() -> None:
    """A reading of scale 1.1 and offset 3 gives the truth back, and its noise shrinks with the scale."""
    number = Bias(3.0, 0.0, 1.1, 0.0).corrected(1.1 * 40 + 3, noise=1.1)
    assert number.value == pytest.approx(40)
    assert number.high - number.value == pytest.approx(NORMAL_95)


def test_what_is_left_widens_the_interval() -> None:
    """Offsets count alike at every value, scales with the value, and independent ones join in quadrature."""
    number = Bias(0.0, 2.0, 1.0, 0.03).corrected(100.0, scale_sd=0.04)
    assert number.high - number.value == pytest.approx(NORMAL_95 * math.hypot(2.0, 5.0))


def test_a_view_from_aside_changes_the_scale() -> None:
    """What is foreshortened to half at 60 deg is doubled again; what is unsure of that widens only what is aside."""
    line = Bias(view=-1.0, view_sd=0.2)
    assert line.corrected(15.0, view_deg=60.0).value == pytest.approx(30)
    assert line.corrected(15.0, view_deg=-60.0) == line.corrected(15.0, view_deg=60.0)
    aside, straight = line.corrected(15.0, view_deg=60.0), line.corrected(30.0)
    assert straight.high == straight.value
    assert aside.high - aside.value == pytest.approx(NORMAL_95 * 30 * 0.2 * 0.5 / 0.5)


def test_every_entry_of_the_table_can_be_used() -> None:
    """Each has a known fit, a scale above 0, errors of 0 or more, and says from how many people it comes."""
    for key, entry in table().items():
        one = bias_in(entry)
        assert entry["fit"].removesuffix("+view") in ("offset", "scale", "both"), key
        assert one.scale > 0, key
        assert min(one.offset_sd, one.scale_sd) >= 0, key
        assert max(one.offset_sd, one.scale_sd) > 0, key
        assert entry["people"] >= 0, key
        assert entry["readings"] >= entry["people"], key


def test_another_table_takes_the_place_for_a_while() -> None:
    """The benchmark's table holds inside the context only; a key that is in no table is told by name."""
    key = next(iter(table()))
    before = bias(key)
    with learned_elsewhere({key: Bias(offset=7.0)}):
        assert bias(key).offset == 7.0
        with pytest.raises(BrokenPromise, match="elbow"):
            bias("elbow")
    assert bias(key) == before
