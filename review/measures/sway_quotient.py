"""Sway with the eyes shut over sway with the eyes open, from one stretch that holds both.

Both come from one film of one person in one place, so that the scale of the picture and the model's gain are the same
above and below the line and fall out.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.construction import Part
from review.domain.measure import Measure, Need
from review.domain.model import Estimate, Event, Interval, Reason
from review.measures.drawn import lids
from review.measures.eye_closure import HELD_S, closed_by_eye, closures
from review.measures.learned import bias
from review.measures.postural_sway import postural_sway, sway_drawn
from review.signals.estimates import reason_codes, stated, unstated
from review.signals.filtering import fill_gaps, pieces
from review.signals.runs import true_runs
from review.signals.uncertainty import NORMAL_95, Bounded, above_floor, bounded, effective_size

Series = npt.NDArray[np.float64]
Pieces = list[tuple[Series, Series]]

LEAST_SECONDS: Final = 20.0
"""Of either state of the eyes; the tests of balance ask for 20 s or more each."""

SHUT: Final = 1.0
OPEN: Final = 0.0

_KINDS: Final = {"eyes_open": OPEN, "eyes_shut": SHUT}
_SETTLING_S = 1.0
_SPARE_S = 1.5
_HOLE_S = 0.5
_SHORTEST_S = 1.0
_FLOOR_FACTOR = 2.0


def sway_by_eyes(tracks: xr.Dataset) -> xr.DataArray:
    """Sideways sway as in `review.measures.postural_sway.postural_sway`, with the state of the eyes beside it.

    The coordinate ``eyes`` over time is 1 while both eyes are held shut (a closure of the less shut eye of at least 0.8
    s), 0 while they are open, blinks included, and NaN where the eyes are not seen and in the second after they were
    shut or opened.

    Shape ``(time,)``, unit "% height"; NaN as in `postural_sway`. Pose at 15, face at 15 looks a second.

    References
    ----------
    Cornilleau-Peres V. et al. (2005), Gait Posture 22:96-106, for the ratio of a pair of trials (from memory).
    """
    sway = postural_sway(tracks)
    return sway.assign_coords(eyes=("time", _eyes(tracks)), eye_reason=("time", reason_codes(closed_by_eye(tracks))))


def _eyes(tracks: xr.Dataset) -> Series:
    clock = tracks["time"].values
    less_shut = closed_by_eye(tracks).min("side", skipna=False).values
    closed = fill_gaps(clock, less_shut, _HOLE_S)
    state = np.where(np.isfinite(closed), OPEN, np.nan)
    for run in closures(clock, closed):
        if run.duration_s >= HELD_S:
            state[run.samples] = SHUT
            for edge in (run.onset_s, run.offset_s):
                state[(clock >= edge) & (clock < edge + _SETTLING_S)] = np.nan
    return state


def _stretches(trace: xr.DataArray, state: float, of: Series) -> Pieces:
    clock = trace["time"].values
    chosen = np.where((trace["eyes"].values == state) & np.isfinite(trace.values), of, np.nan)
    runs = [run for run in pieces(clock, chosen, _HOLE_S) if clock[run[-1]] - clock[run[0]] >= _SHORTEST_S]
    return [(clock[run], chosen[run]) for run in runs]


def _seconds(stretches: Pieces) -> float:
    return sum(float(clock[-1] - clock[0]) for clock, _ in stretches)


def _rms(stretches: Pieces) -> float:
    squares = [(values - values.mean()) ** 2 for _, values in stretches]
    return float(np.sqrt(np.concatenate(squares).mean()))


def _sway(trace: xr.DataArray, state: float) -> Bounded:
    """Return the root mean square of one state above the noise of the feet in it."""
    sway, feet = _stretches(trace, state, trace.values), _stretches(trace, state, trace["feet"].values)
    floor = _rms(feet)
    count = sum(effective_size(values) for _, values in feet)
    return above_floor(bounded(_rms(sway), noise=floor / math.sqrt(count)), Bounded(floor, 0.0, _FLOOR_FACTOR * floor))


def quotient(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return the sway with the eyes shut over that with the eyes open.

    Refused (`Reason.TOO_SHORT`) with less than 20 s of either, and where the sway of either could be noise
    (`Reason.BELOW_NOISE`). The interval joins the noise of both, as shares, with what is left of the model's bias:
    small sway loses or gains more than large one.
    """
    seconds = [_seconds(_stretches(trace, state, trace.values)) for state in (SHUT, OPEN)]
    if min(seconds) < LEAST_SECONDS - _SPARE_S:
        return (unstated(trace, _why_short(trace)),)
    shut, opened = (_sway(trace, state) for state in (SHUT, OPEN))
    if min(shut.low, opened.low) <= 0:
        return (unstated(trace, Reason.BELOW_NOISE),)
    share = math.hypot(*((one.high - one.low) / (2 * NORMAL_95 * one.value) for one in (shut, opened)))
    ratio = shut.value / opened.value
    moments = tuple(part for state in (OPEN, SHUT) for part in _parts(trace, state))
    number = bias("sway_quotient").corrected(ratio, noise=share * ratio)
    return (stated(trace, number.within(0.0), rests_on=moments),)


def _why_short(trace: xr.DataArray) -> Reason:
    """Say why there is too little: the face, if it was never seen, else the length of the stretch."""
    codes = trace["eye_reason"].values
    unseen = codes[~np.isin(codes, (int(Reason.NONE), int(Reason.NOT_LOOKED)))]
    if np.isfinite(trace["eyes"].values).any() or len(unseen) == 0:
        return Reason.TOO_SHORT
    return Reason(int(np.bincount(unseen).argmax()))


def _parts(trace: xr.DataArray, state: float) -> list[Interval]:
    runs = true_runs(trace["time"].values, trace["eyes"].values == state, min_s=_SHORTEST_S, bridge_s=_HOLE_S)
    return [Interval(max(0.0, run.onset_s), max(0.0, run.offset_s)) for run in runs]


def phases(trace: xr.DataArray) -> tuple[Event, ...]:
    """Return the stretches with the eyes held shut and those with the eyes open that were compared."""
    found = [Event(kind, part) for kind, state in _KINDS.items() for part in _parts(trace, state)]
    return tuple(sorted(found, key=lambda event: event.interval))


def quotient_drawn(tracks: xr.Dataset) -> tuple[Part, ...]:
    """Draw the sway, and the lids that tell which of the two states it counts for."""
    return (*sway_drawn(tracks), *lids(tracks, closed_by_eye(tracks)))


MEASURES = (
    Measure(
        name="sway_quotient",
        title="Sideways sway, eyes shut to eyes open",
        trace=sway_by_eyes,
        summarise=quotient,
        events=phases,
        unit="1",
        unit_words="times as much with the eyes shut",
        construction=quotient_drawn,
        needs=(Need("pose", 15.0), Need("picture", 5.0), Need("face", 15.0)),
        curve="Shoulders to the side",
        reference="Lê and Kapoula 2008, Gait Posture 27:493-500 (meaning); Prieto et al. 1996 (root mean square)",
    ),
)
