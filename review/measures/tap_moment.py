"""Taps of a hammer: by the knock that is heard, else by the hand that turns round beside a limb."""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.measure import Measure, Need, with_reasons
from review.domain.model import Estimate, Event, Interval, Reason
from review.domain.tracks import found, why_absent
from review.measures.face_view import shares
from review.measures.hand_paths import Path, hand_length, hand_middles, linked
from review.signals.estimates import stated, unstated, usable_share
from review.signals.filtering import low_pass
from review.signals.uncertainty import Bounded

Series = npt.NDArray[np.float64]

RISE_DB: Final = 12.0
FALL_DB: Final = 10.0
HAND_LENGTHS_A_SECOND: Final = 5.0

LEAST_SEEN: Final = 0.8
"""Share of the looks in which a hand must be seen for a number by the hand alone: a fast hand is often lost."""

_SURELY, _POSSIBLY = 1.25, 0.7
_OTHER_HANDS = ("other_hand_xy",)
_OWN_S = (-0.06, 0.12)
_BESIDE_S = (-0.4, 0.5)
_LASTING_S = 0.2
_TALK_DB, _AUDIBLE_BESIDE_DB, _STANDS_OUT_DB = 6.0, 20.0, 6.0
_SOUND_STEP_S = 0.1
_SMOOTHED_HZ = 10.0
_TURN_S = 0.07
_BACK_SHARE = 0.2
_APART_S = 0.25
_REACH_LENGTHS = 4.0
_JOINTS = tuple(f"{side}_{joint}" for joint in ("elbow", "wrist", "knee", "ankle") for side in ("left", "right"))


def taps(tracks: xr.Dataset) -> xr.DataArray:
    """Strength of the tap at every frame, as a multiple of what is asked of one; 0 without one.

    **With sound**, a tap is a sudden sound (see `review.capture.onsets`) that rises by 12 dB and has fallen by 10 dB
    0.14 s after its loudest, and that does not lie amid talk; the strength is the lesser of the two over what is asked.
    It lies amid talk when, from 0.4 s before to 0.5 s after it, 0.2 s of sound in all is above the background by 6 dB
    and within 20 dB of the tap.

    **Without sound**, a tap is the moment at which a hand that is not the examined person's turns round: 0.07 s earlier
    and later it moves in opposite senses, before it at 5 hand lengths a second or more, after it at a fifth of that or
    more, and it is within four hand lengths of an elbow, wrist, knee or ankle of the examined person, if these are
    seen. The strength is that speed over what is asked. Positions are low-passed at 10 Hz without a shift in time,
    which takes a tenth to a third off the speed of a stroke and moves its end by no more than a frame.

    Parameters
    ----------
    tracks
        Landmark dataset; any frame rate serves the sound, 30 a second are needed for the hand.

    Returns
    -------
    DataArray
        Over ``time``, unit "1", with the coordinates ``reason``, ``after`` (seconds from the frame to the tap) and
        ``amid_talk`` (1 where a sudden sound lies there, 2 where it stands out of it by 6 dB), and the attribute
        ``by``: "sound" or "hand".

    References
    ----------
    Common practice, no source.
    """
    if found(tracks, "sound").any() or not (tracks["hand_state"].values > 0).any():
        return _by_sound(tracks)
    return _by_hand(tracks)


def _trace(tracks: xr.Dataset, strength: Series, after: Series, amid: npt.NDArray[np.int8], by: str) -> xr.DataArray:
    coords = {"time": tracks["time"], "after": ("time", after), "amid_talk": ("time", amid)}
    return xr.DataArray(strength, dims=("time",), coords=coords, attrs={"by": by})


def _by_sound(tracks: xr.Dataset) -> xr.DataArray:
    onset, fall = (tracks[name].values.astype(np.float64) for name in ("sound_onset", "sound_onset_fall"))
    strength = np.maximum(np.minimum(onset / RISE_DB, fall / FALL_DB), 0)
    strength[onset == 0] = 0
    after = tracks["sound_onset_after"].values / tracks.attrs["slow_motion"]
    trace = _trace(tracks, strength, after, _amid_talk(tracks, strength, after), "sound")
    return with_reasons(trace, why_absent(tracks, "sound", Reason.NO_SOUND), "1")


def _amid_talk(tracks: xr.Dataset, strength: Series, after: Series) -> npt.NDArray[np.int8]:
    """Return for every frame 1 where its sudden sound lies amid talk, 2 where it stands out of it by 6 dB, else 0."""
    times, level = tracks["time"].values, np.nan_to_num(tracks["sound_speech"].values.astype(np.float64))
    weight = shares(times, _SOUND_STEP_S)
    amid = np.zeros(len(times), np.int8)
    for frame in np.flatnonzero(strength >= _POSSIBLY):
        away = times - (times[frame] + after[frame])
        own = (away >= _OWN_S[0]) & (away <= _OWN_S[1])
        beside = (away >= _BESIDE_S[0]) & (away <= _BESIDE_S[1])
        loudest = level[own].max(initial=level[frame])
        loud = beside & (level > max(_TALK_DB, loudest - _AUDIBLE_BESIDE_DB))
        if weight[loud].sum() >= _LASTING_S:
            amid[frame] = 2 if level[beside & ~own].max(initial=0.0) <= loudest - _STANDS_OUT_DB else 1
    return amid


def _by_hand(tracks: xr.Dataset) -> xr.DataArray:
    times = tracks["time"].values
    strength = np.zeros(len(times))
    length = hand_length(tracks, _OTHER_HANDS)
    middles = hand_middles(tracks, _OTHER_HANDS)
    joints = tracks["pose_xy"].sel(pose_point=list(_JOINTS)).values.astype(np.float64)
    for path in linked(times, middles, length):
        for frame, speed in _turns(times, path, length):
            place = path.xy[int(np.searchsorted(path.frames, frame))]
            away = np.linalg.norm(joints[frame] - place, axis=-1)
            if np.isnan(away).all() or np.nanmin(away) <= _REACH_LENGTHS * length:
                strength[frame] = max(strength[frame], speed / HAND_LENGTHS_A_SECOND)
    reasons = why_absent(tracks, "hand", Reason.HAND_NOT_FOUND)
    unseen = np.isnan(middles).all(axis=(1, 2))
    reasons[unseen & (reasons == Reason.NONE)] = Reason.HAND_NOT_FOUND
    trace = _trace(tracks, strength, np.zeros(len(times)), np.zeros(len(times), np.int8), "hand")
    return with_reasons(trace, reasons, "1")


def _turns(times: Series, path: Path, length_px: float) -> list[tuple[int, float]]:
    """Return the frames in which a hand turns round, and how fast it came, hand lengths a second; strongest first."""
    clock = times[path.frames]
    smooth = np.stack([low_pass(clock, path.xy[:, axis], _SMOOTHED_HZ) for axis in (0, 1)], axis=1) / length_px
    if len(clock) < 3:
        return []
    velocity = np.gradient(smooth, clock, axis=0)
    before, after = (np.searchsorted(clock, clock + shift) for shift in (-_TURN_S - 1e-6, _TURN_S + 1e-6))
    before, after = np.minimum(before, len(clock) - 1), np.minimum(after - 1, len(clock) - 1)
    opposed = (velocity[before] * velocity[after]).sum(axis=1) < 0
    came = np.linalg.norm(velocity[before], axis=1)
    left = np.linalg.norm(velocity[after], axis=1)
    slow = np.linalg.norm(velocity, axis=1)
    opposed &= (left >= _BACK_SHARE * came) & (slow < came)
    candidates = np.flatnonzero(opposed & (came >= _POSSIBLY * HAND_LENGTHS_A_SECOND))
    turns: list[int] = []
    for place in candidates[np.argsort(slow[candidates] / came[candidates])]:
        if all(abs(clock[place] - clock[other]) > _APART_S for other in turns):
            turns.append(int(place))
    return [(int(path.frames[place]), float(came[place])) for place in turns]


def tap_count(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return how many taps there were.

    The low end of the 95 % interval counts those with 1.25 times the strength that is asked, the high end those with
    0.7 of it, and sudden sounds that stand out of talk. By the hand alone the number is weak
    (`Reason.NO_SOUND`), and there is none where the hand was seen in fewer than `LEAST_SEEN` of the looks.
    """
    if not np.isfinite(trace.values).any():
        return (unstated(trace),)
    if trace.attrs["by"] == "hand" and usable_share(trace) < LEAST_SEEN:
        return (unstated(trace, Reason.NO_SOUND),)
    strength = np.nan_to_num(trace.values)
    amid = trace["amid_talk"].values
    value, low, high = (int(((strength >= least) & (amid == 0)).sum()) for least in (1, _SURELY, _POSSIBLY))
    high += int(((strength >= 1) & (amid == 2)).sum())
    weak = (Reason.NO_SOUND,) if trace.attrs["by"] == "hand" else ()
    moments = tuple(event.interval for event in tap_events(trace))
    return (stated(trace, Bounded(float(value), float(low), float(high)), weak=weak, rests_on=moments),)


def tap_events(trace: xr.DataArray) -> tuple[Event, ...]:
    """Return each ``tap`` at its moment; ``peak`` is its strength."""
    strength, amid = np.nan_to_num(trace.values), trace["amid_talk"].values
    moments = trace["time"].values + trace["after"].values
    return tuple(
        Event("tap", Interval(float(moments[frame]), float(moments[frame])), None, float(strength[frame]))
        for frame in np.flatnonzero((strength >= 1) & (amid == 0))
    )


MEASURES = (
    Measure(
        name="tap_moment",
        title="Taps",
        trace=taps,
        summarise=tap_count,
        events=tap_events,
        unit="1",
        unit_words="taps",
        needs=(Need("sound", 10.0), Need("hand", 30.0, silent_only=True), Need("pose", 15.0, silent_only=True)),
        curve="Strength of taps",
        reference="common practice, no source",
    ),
)
