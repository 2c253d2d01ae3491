"""Tendon reflexes: the quick change of a joint's angle that starts out of rest and comes back.

Nothing here knows of a hammer: a quick movement made on purpose looks alike. Whether a jerk followed a tap is told by
`tap_moment` beside it.
"""

from __future__ import annotations

from functools import partial
from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.measure import Measure, Need, TraceFunction
from review.domain.model import Estimate, Event, Interval, Reason, Side
from review.measures.learned import bias
from review.measures.limb_angles import ANKLE, ELBOW, KNEE, SIDES, WRIST, Joint, joint_drawn, limb_angle, of_side
from review.signals.estimates import stated, unstated
from review.signals.filtering import low_pass, pieces
from review.signals.jerks import Jerk, jerks
from review.signals.uncertainty import Bounded, noise_sd

Series = npt.NDArray[np.float64]

CUTOFF_HZ: Final = 8.0
LEAST_DEG: Final = 3.0
"""A smaller change, as read, is never called a jerk."""

RELAXED_DEG: Final = 3.0
"""A limb whose angle changed more than this in the 0.3 s before the jerk was not relaxed."""

LEAST_RATE_HZ: Final = 24.0
"""With fewer looks a second the height of a jerk falls between them."""

_NOISES = 6.0
_MAX_GAP_S = 0.15
_LEAST_SECONDS = 0.5
_LEAST_SHARE = 0.5


def jerks_of(trace: xr.DataArray, side: Side, of: str = "value") -> tuple[Jerk, ...]:
    """Return the jerks of one side of a trace.

    Parameters
    ----------
    trace
        As from `review.measures.limb_angles.limb_angle`.
    side
        The examined person's own side.
    of
        ``"value"`` for those whose size can be told, ``"apparent"`` for all that could be seen.
    """
    clock, values = _curve(trace, side, of)
    least = _least_deg(clock, values)
    return tuple(
        one
        for run in pieces(clock, values, _MAX_GAP_S)
        for smooth in (low_pass(clock[run], values[run], CUTOFF_HZ, _MAX_GAP_S),)
        if np.isfinite(smooth).all()
        for one in jerks(clock[run], smooth, least, _noise(values) * _kept_share(clock[run]))
    )


def _curve(trace: xr.DataArray, side: Side, of: str) -> tuple[Series, Series]:
    one = of_side(trace, side)
    seen = one["reason"].values != int(Reason.NOT_LOOKED)
    values = one.values if of == "value" else one[of].values
    return one["time"].values[seen], values[seen]


def _noise(values: Series) -> float:
    found = noise_sd(values)
    return found if np.isfinite(found) else 0.0


def _kept_share(clock: Series) -> float:
    """Root of the share of white noise that the filter lets through."""
    rate_hz = 1 / float(np.median(np.diff(clock)))
    return float(np.sqrt(min(1.0, 2 * CUTOFF_HZ / rate_hz)))


def _least_deg(clock: Series, values: Series) -> float:
    known = clock[np.isfinite(values)]
    return max(LEAST_DEG, _NOISES * _noise(values) * _kept_share(known)) if len(known) > 1 else LEAST_DEG


def greatest_jerk(trace: xr.DataArray, key: str) -> tuple[Estimate, ...]:
    """Return for each side the greatest quick change of the angle, deg: + when the joint opens, - when it bends.

    0 when the limb was seen well and nothing quick moved, with what could have gone unseen as its interval: the high
    end of the least movement that counts. The
    interval of a jerk joins the noise of this very curve at rest and at the height with what is left of the
    model's bias.

    Parameters
    ----------
    trace
        As from `review.measures.limb_angles.limb_angle`.
    key
        Name under which the bias is learned.
    """
    return tuple(_of_side(trace, side, key) for side in SIDES)


def _of_side(trace: xr.DataArray, side: Side, key: str) -> Estimate:
    own = of_side(trace, side)
    clock, values = _curve(trace, side, "value")
    known = clock[np.isfinite(values)]
    if len(known) < 5 or known[-1] - known[0] < _LEAST_SECONDS or np.isfinite(values).mean() < _LEAST_SHARE:
        return unstated(own, side=side)
    slow = (Reason.RATE_LOW,) if 1 / float(np.median(np.diff(known))) < LEAST_RATE_HZ else ()
    found = jerks_of(trace, side)
    view_deg = float(np.median(own["tilt"].values[np.isfinite(own.values)]))
    if not found:
        edge = bias(key).corrected(_least_deg(clock, values), view_deg=view_deg).high
        return stated(own, Bounded(0.0, -edge, edge), weak=slow, side=side)
    one = max(found, key=lambda jerk: abs(jerk.change))
    number = bias(key).corrected(one.change, noise=_noise(values) * _kept_share(known), view_deg=view_deg)
    tense = (Reason.LIMB_NOT_RELAXED,) if one.drift > RELAXED_DEG else ()
    moment = Interval(max(0.0, one.onset_s), max(0.0, one.offset_s))
    return stated(own, number, weak=slow + tense, rests_on=(moment,), side=side)


def unsized_jerk(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Say no number for either side: the body's model follows this joint too loosely; that it moved is an event."""
    return tuple(unstated(of_side(trace, side), Reason.MODEL_BLIND, side=side) for side in SIDES)


def jerk_events(trace: xr.DataArray) -> tuple[Event, ...]:
    """Return every jerk, also those seen too obliquely for a number; `peak` is the change in deg where it can be told.

    From the onset of the movement until it has come back halfway.
    """
    found = []
    for side in SIDES:
        sized = {one.onset_s: one.change for one in jerks_of(trace, side)}
        for one in jerks_of(trace, side, "apparent"):
            near = [change for onset, change in sized.items() if abs(onset - one.onset_s) < 0.1]
            moment = Interval(max(0.0, one.onset_s), max(0.0, one.offset_s))
            found.append(Event("jerk", moment, side, near[0] if near else None))
    return tuple(sorted(found, key=lambda event: (event.interval, event.side or "")))


def elbow_angle(tracks: xr.Dataset) -> xr.DataArray:
    """Inner angle of the elbow in the picture, see `limb_angle`. References: common practice, no source."""
    return limb_angle(tracks, ELBOW)


def wrist_angle(tracks: xr.Dataset) -> xr.DataArray:
    """Inner angle of the wrist in the picture, see `limb_angle`. References: common practice, no source.

    By the hand model's points alone: those of the body's model showed a jerk of 13.5 deg as 2.8 to 6.6 deg, of either
    sign, where the hand's showed 15.9.
    """
    return limb_angle(tracks, WRIST)


def knee_angle(tracks: xr.Dataset) -> xr.DataArray:
    """Inner angle of the knee in the picture, see `limb_angle`. References: common practice, no source."""
    return limb_angle(tracks, KNEE)


def ankle_angle(tracks: xr.Dataset) -> xr.DataArray:
    """Inner angle of the ankle in the picture, see `limb_angle`. References: common practice, no source.

    No number is made of it: of six jerks of 8 to 15 deg of three rendered people three did not show at all, two showed
    as half, and one with the other sign.
    """
    return limb_angle(tracks, ANKLE)


_POSE, _HAND = Need("pose", 30.0), Need("hand", 30.0)


def _declared(name: str, joint: Joint, trace: TraceFunction, *needs: Need, sized: bool = True) -> Measure:
    return Measure(
        name=f"{name}_jerk",
        title=f"Jerk of the {name} (change of its angle)",
        trace=trace,
        summarise=partial(greatest_jerk, key=f"{name}_jerk") if sized else unsized_jerk,
        events=jerk_events,
        unit="deg",
        construction=partial(joint_drawn, joint=joint),
        needs=needs,
        curve=f"Inner angle of the {name}",
        reference="common practice, no source; healthy sides differ: Tham et al. 2011, Can. J. Neurol. Sci.",
    )


MEASURES = (
    _declared("elbow", ELBOW, elbow_angle, _POSE, _HAND),
    _declared("wrist", WRIST, wrist_angle, _POSE, _HAND),
    _declared("knee", KNEE, knee_angle, _POSE),
    _declared("ankle", ANKLE, ankle_angle, _POSE, sized=False),
)
