"""Path of the examiner's fingertip before the face: which ends it reached, and how fast it moved."""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.construction import Part
from review.domain.measure import Measure, Need, with_reasons
from review.domain.model import Estimate, Event, Interval, Reason
from review.domain.tracks import why_absent
from review.measures.drawn import eye_line
from review.measures.face_frame import EYE_CORNERS, place
from review.measures.face_view import looked_at
from review.measures.gaze_positions import CARDINAL, Hold, Limits, centre_holds, holds
from review.measures.hand_paths import HANDS, fingertips, hand_length, linked, tips_drawn
from review.measures.head_stillness import resting_angle
from review.measures.learned import bias
from review.signals.estimates import stated, unstated
from review.signals.filtering import fill_gaps, low_pass, speed
from review.signals.runs import true_runs
from review.signals.uncertainty import Bounded

Series = npt.NDArray[np.float64]

FACE_MM: Final = 140.0
"""Width of a face, 140 mm or so in adults (common practice, no source)."""

DISTANCE_MM: Final = 350.0
"""Distance of the target from the eyes that is taken for granted: 300 to 400 mm are taught."""

MIN_FACE_PX: Final = 45.0
LEAST_RATE_HZ: Final = 8.0

_USUAL = Limits(sideways_deg=8.0, slack_deg=0.0, hold_s=0.15)
_SURE = Limits(sideways_deg=11.0, slack_deg=-2.0, hold_s=0.25)
_POSSIBLE = Limits(sideways_deg=5.0, slack_deg=2.0, hold_s=0.1)
_CENTRE_REACH_DEG = 8.0
_FACE_HIDDEN_S = 2.0
_HAND_HIDDEN_S = 0.25
_UNSEEN_S = 0.4
_LEAST_SECONDS = 0.4
_FURTHEST = 0.98
_MOST_TURNED_DEG = 30.0
_NEAR_DEG = 60.0
_SMOOTHED_HZ = 4.0
_MOVING_DEG_PER_S = 5.0
_BESIDE_S = 0.1
_STRAIGHT = 0.8


def target_from_face(tracks: xr.Dataset) -> xr.DataArray:
    """Direction of the fingertip that is shown, seen from the middle of the eyes, in deg.

    The tip's way from the middle of the eye corners along and across the line of the eyes, in mm by a face 140 mm wide,
    and taken to lie on a sphere of 350 mm: ``asin(way / 350)``, less the turn of the resting head towards the camera,
    for a target straight before a turned face appears beside it. Zero is the path's own centre: the horizontal
    direction kept longest within 8 deg of straight ahead, and the vertical one kept longest there. Of several hands the
    one counts that went furthest before the face. The scale is rough: the distance is not known, and a hand nearer to
    the camera than the face looks larger.

    Parameters
    ----------
    tracks
        Landmark dataset; needs hands and face, 15 frames a second.

    Returns
    -------
    DataArray
        Over ``time`` and ``direction`` (horizontal, + the examined person's own left; vertical, + up), unit "deg", with
        the coordinate ``reason``. NaN where no hand or face was found; a face that is hidden for up to 2 s and a hand
        for up to 0.25 s are bridged by straight lines.

    References
    ----------
    Common practice, no source.
    """
    times = tracks["time"].values
    face = why_absent(tracks, "face", Reason.FACE_NOT_FOUND)
    hand = why_absent(tracks, "hand", Reason.HAND_NOT_FOUND)
    direction = _direction(tracks, times)
    reason = np.where(hand != Reason.NONE, hand, Reason.HAND_NOT_FOUND).astype(np.int8)
    reason[face == Reason.FACE_NOT_FOUND] = Reason.FACE_NOT_FOUND
    reason[np.isfinite(direction).all(axis=1) & (hand == Reason.NONE)] = Reason.NONE
    reason[(tracks["face_width"].values < MIN_FACE_PX) & (hand != Reason.NOT_LOOKED)] = Reason.FACE_SMALL
    trace = xr.DataArray(
        direction, dims=("time", "direction"), coords={"time": times, "direction": ["horizontal", "vertical"]}
    )
    return with_reasons(trace, reason, "deg")


def _direction(tracks: xr.Dataset, times: Series) -> Series:
    length = hand_length(tracks, HANDS)
    centre, along, width = _face(tracks, times)
    up = np.stack([along[:, 1], -along[:, 0]], axis=1)
    turned = np.nanmedian(tracks["head_angle"].sel(angle="yaw").values) if np.isfinite(width) else 0.0
    best, furthest = np.full((len(times), 2), np.nan), 0.0
    for path in linked(times, fingertips(tracks, HANDS), length):
        way = path.xy - centre[path.frames]
        across = np.stack([(way * along[path.frames]).sum(axis=1), (way * up[path.frames]).sum(axis=1)], axis=1)
        mm = across * FACE_MM / width
        deg = np.degrees(np.arcsin(np.clip(mm / DISTANCE_MM, -_FURTHEST, _FURTHEST)))
        deg[:, 0] -= np.clip(turned, -_MOST_TURNED_DEG, _MOST_TURNED_DEG)
        near = np.isfinite(deg).all(axis=1) & (np.abs(deg) < _NEAR_DEG).all(axis=1)
        if near.sum() < 2:
            continue
        went = float(np.ptp(deg[near], axis=0).sum()) * float(near.sum())
        whole = np.full((len(times), 2), np.nan)
        whole[path.frames[near]] = deg[near]
        better = np.where(np.isnan(best), whole, best) if went <= furthest else np.where(np.isnan(whole), best, whole)
        best, furthest = better, max(furthest, went)
    known = np.isfinite(best).all(axis=1)
    best = best - _own_centre(best[known])
    return np.stack([fill_gaps(times, best[:, axis], _HAND_HIDDEN_S) for axis in (0, 1)], axis=1)


def _face(tracks: xr.Dataset, times: Series) -> tuple[Series, Series, float]:
    """Return the middle of the eyes and the line of the eyes in every frame, and the usual width of the face, px."""
    right, left = place(tracks, *EYE_CORNERS["right"]), place(tracks, *EYE_CORNERS["left"])
    filled = [fill_gaps(times, side[:, axis], _FACE_HIDDEN_S) for side in (right, left) for axis in (0, 1)]
    right, left = np.stack(filled[:2], axis=1), np.stack(filled[2:], axis=1)
    line = left - right
    width = tracks["face_width"].values
    usual = float(np.nanmedian(width)) if np.isfinite(width).any() else np.nan
    return (right + left) / 2, line / np.linalg.norm(line, axis=1, keepdims=True), usual


def _own_centre(direction: Series) -> Series:
    ahead = direction[np.abs(direction[:, 0]) <= _CENTRE_REACH_DEG]
    if len(ahead) == 0:
        return np.zeros(2)
    return np.array([resting_angle(ahead[:, 0]), resting_angle(ahead[:, 1])])


def ends_reached(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return how many of the six ends the target reached.

    Told apart like positions of the gaze (see `review.measures.gaze_positions.holds`), with holds of 0.15 s; a place
    that is only passed, straight on and at half the speed or more, is no end. The low end of the 95 % interval asks
    for 11 deg to the side, vertical bands 2 deg narrower and 0.25 s, the high end for 5 deg, 2 deg wider and 0.1 s.
    Where the hand or the face was lost for 0.4 s or more on the way, the high end is 6.
    """
    seen = looked_at(trace)
    refused = _refused(trace, seen)
    if refused is not None:
        return (refused,)
    times, direction = seen["time"].values, seen.values
    held = _ends(times, direction, _USUAL)
    value = _count(held)
    low = min(value, _count(_ends(times, direction, _SURE)))
    high = max(value, _count(_ends(times, direction, _POSSIBLE)))
    known = np.flatnonzero(np.isfinite(direction).all(axis=1))
    way = slice(known[0], known[-1] + 1)
    if true_runs(times[way], np.isnan(direction[way]).any(axis=1), _UNSEEN_S):
        high = len(CARDINAL)
    moments = tuple(Interval(hold.run.onset_s, hold.run.offset_s) for hold in held)
    return (stated(trace, Bounded(float(value), float(low), float(high)), rests_on=moments),)


def _ends(times: Series, direction: Series, limits: Limits) -> tuple[Hold, ...]:
    """Return the ends where the target stopped or turned: not those that it only passed."""
    smooth = [fill_gaps(times, direction[:, axis], _UNSEEN_S) for axis in (0, 1)]
    velocity = np.stack([speed(times, low_pass(times, curve, _SMOOTHED_HZ)) for curve in smooth], axis=1)
    return tuple(hold for hold in holds(times, direction, limits) if not _passed(times, velocity, hold))


def _passed(times: Series, velocity: Series, hold: Hold) -> bool:
    """Tell whether the target went through a place straight on and without slowing down to half its speed."""
    near = (times >= hold.run.onset_s - _BESIDE_S) & (times <= hold.run.offset_s + _BESIDE_S)
    moves = velocity[near]
    if not np.isfinite(moves).all():
        return False
    rates = np.linalg.norm(moves, axis=1)
    straight = float(moves[0] @ moves[-1]) > _STRAIGHT * rates[0] * rates[-1]
    return straight and float(rates.min()) > 0.5 * float(max(rates[0], rates[-1]))


def _count(held: tuple[Hold, ...]) -> int:
    return len({hold.position for hold in held})


def _refused(trace: xr.DataArray, seen: xr.DataArray, reason: Reason | None = None) -> Estimate | None:
    times = seen["time"].values
    known = np.isfinite(seen.values).all(axis=1)
    if len(times) < 2 or known.mean() * (times[-1] - times[0]) < _LEAST_SECONDS:
        return unstated(trace, reason)
    if np.median(np.diff(times)) > 1 / LEAST_RATE_HZ:
        return unstated(trace, Reason.RATE_LOW)
    return None


def pace(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return how fast the target moved while it moved: way over time above 5 deg/s, low-passed at 4 Hz; deg/s.

    The 95 % interval is that of the learned bias, which holds the unknown distance, and wide. Without a face there is
    no scale (`Reason.NO_SCALE`); a target that never moved has no pace (`Reason.NOT_SEEN`).
    """
    seen = looked_at(trace)
    faceless = bool((seen["reason"].values == Reason.FACE_NOT_FOUND).all())
    refused = _refused(trace, seen, Reason.NO_SCALE if faceless else None)
    if refused is not None:
        return (refused,)
    times = seen["time"].values
    rates = [speed(times, low_pass(times, seen.values[:, axis], _SMOOTHED_HZ)) for axis in (0, 1)]
    quick = np.hypot(*rates)
    moving = np.nan_to_num(quick) > _MOVING_DEG_PER_S
    moments = true_runs(times, moving, 0.1, 0.2)
    if not moments:
        return (unstated(trace, Reason.NOT_SEEN),)
    usual = float(quick[moving].mean())
    number = bias("target_pace").corrected(usual)
    bounded = number.within(0.0)
    return (stated(trace, bounded, rests_on=tuple(Interval(run.onset_s, run.offset_s) for run in moments)),)


def target_events(trace: xr.DataArray) -> tuple[Event, ...]:
    """Return the ends reached, each of kind one of `CARDINAL` with its side, and ``centre``; ``peak`` in deg."""
    seen = looked_at(trace)
    times, direction = seen["time"].values, seen.values
    stops = [*_ends(times, direction, _USUAL), *centre_holds(times, direction, _USUAL)]
    return tuple(
        Event(
            hold.position,
            Interval(hold.run.onset_s, hold.run.offset_s),
            hold.side,
            float(np.hypot(hold.horizontal_deg, hold.vertical_deg)),
        )
        for hold in sorted(stops, key=lambda hold: hold.run)
    )


def target_drawn(tracks: xr.Dataset) -> tuple[Part, ...]:
    """Draw the way of the fingertips, and the line of the eyes from whose middle it is seen."""
    return (*tips_drawn(tracks), eye_line(tracks))


MEASURES = (
    Measure(
        name="target_path",
        title="Ends that the target reached",
        trace=target_from_face,
        summarise=ends_reached,
        events=target_events,
        unit="1",
        unit_words="of 6 ends",
        parts=CARDINAL,
        construction=target_drawn,
        needs=(Need("hand", 15.0), Need("face", 15.0)),
        curve="Target seen from the face",
        reference="common practice, no source",
    ),
    Measure(
        name="target_pace",
        title="Pace of the target",
        trace=target_from_face,
        summarise=pace,
        events=target_events,
        unit="deg/s",
        construction=target_drawn,
        needs=(Need("hand", 15.0), Need("face", 15.0)),
        curve="Target seen from the face",
        reference="common practice, no source",
    ),
)
