"""What an estimate says of its trace: usable share, reasons, evidence."""

import numpy as np
import xarray as xr

from review.domain.measure import with_reasons
from review.domain.model import Interval, Reason
from review.signals.estimates import evidence, reasons_met, stated, unstated, usable_share
from review.signals.uncertainty import Bounded


def traced(*reasons: Reason, step_s: float = 0.1) -> xr.DataArray:
    """Make a trace of ones with these reasons."""
    times = np.arange(len(reasons)) * step_s
    trace = xr.DataArray(np.ones(len(reasons)), dims="time", coords={"time": times})
    return with_reasons(trace, np.array([int(reason) for reason in reasons]), "1")


OK, UNSEEN, NOBODY, TURNED = Reason.NONE, Reason.NOT_LOOKED, Reason.NOBODY_FOUND, Reason.HEAD_TURNED


def test_usable_share_is_of_what_was_looked_at() -> None:
    """A film looked at in every second frame, with half of those good, is half usable."""
    assert usable_share(traced(OK, UNSEEN, NOBODY, UNSEEN)) == 0.5


def test_nothing_looked_at_is_the_only_reason() -> None:
    """When no frame was looked at, that is what is said."""
    trace = traced(UNSEEN, UNSEEN)
    assert usable_share(trace) == 0.0
    assert unstated(trace).reasons == (Reason.NOT_LOOKED,)


def test_reasons_come_most_frequent_first() -> None:
    """Two frames of one reason come before one of another; looks that were not asked for are not mentioned."""
    assert reasons_met(traced(OK, TURNED, NOBODY, NOBODY, UNSEEN)) == (NOBODY, TURNED)


def test_rare_reasons_are_not_mentioned() -> None:
    """One frame in thirty is no reason to warn."""
    assert reasons_met(traced(*[OK] * 29, NOBODY)) == ()


def test_evidence_bridges_short_holes() -> None:
    """Usable frames on both sides of 0.3 s of nothing are one stretch, on both sides of a second two."""
    short = traced(OK, OK, NOBODY, NOBODY, OK, OK)
    assert evidence(short) == (Interval(0.0, 0.5),)
    assert len(evidence(traced(OK, OK, *[NOBODY] * 9, OK, OK))) == 2


def test_a_missing_number_always_says_why() -> None:
    """Even a trace without any reason gives one for its missing number."""
    bare = unstated(traced(OK, OK))
    assert (bare.value, bare.low, bare.high) == (None, None, None)
    assert bare.reasons == (Reason.TOO_FEW_FRAMES,)


def test_given_reasons_come_first_and_once() -> None:
    """The reason given leads, and is not repeated when the trace has it too."""
    trace = traced(OK, NOBODY, TURNED, NOBODY)
    assert unstated(trace, TURNED).reasons == (TURNED, NOBODY)
    assert stated(trace, Bounded(1.0, 0.5, 2.0), weak=(Reason.TOO_SHORT,)).reasons == (Reason.TOO_SHORT, NOBODY, TURNED)
