"""Touches of the face: which of six places a fingertip stayed at, in which order, and how regular the pauses were."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.construction import Part
from review.domain.measure import Measure, Need, with_reasons
from review.domain.model import Estimate, Event, Interval, Reason, Side
from review.domain.tracks import why_absent
from review.measures.drawn import eye_line, face
from review.measures.face_frame import EYE_CORNERS, eye_distance, head_angle, place
from review.measures.face_view import looked_at
from review.measures.hand_paths import HANDS, Path, fingertips, hand_length, hand_sizes, linked, tips_drawn
from review.signals.estimates import stated, unstated
from review.signals.filtering import fill_gaps, low_pass
from review.signals.runs import Run, true_runs
from review.signals.uncertainty import NORMAL_95, Bounded, noise_sd

Series = npt.NDArray[np.float64]

SITES: Final = {
    "left_forehead": (0.35, 0.55),
    "left_cheek": (0.47, -0.43),
    "left_chin": (0.24, -1.12),
    "right_forehead": (-0.35, 0.55),
    "right_cheek": (-0.47, -0.43),
    "right_chin": (-0.24, -1.12),
}
"""Places, from the middle of the eyes to own left and up, in distances of the outer eye corners (about 90 mm)."""

PARTS: Final = tuple(SITES)
MIN_FACE_PX: Final = 60.0
LEAST_RATE_HZ: Final = 8.0
LEAST_TOUCHES: Final = 4

_MAX_YAW_DEG = 35.0
_FACE_HIDDEN_S = 2.0
_FACE_SMOOTHED_HZ = 1.5
_HAND_HIDDEN_S = 0.25
_JITTER_LEFT = 0.5
_SMOOTHED_HZ = 6.0
_LIFTED_S = 0.15
_LEFT_AT = 0.5
_HOLE_S = 0.3
_UNSEEN_S = 0.4
_UNNOTICED = 1
_NEAR = 0.8
_FULL_STOP_S = 0.2
_MOST_BESIDE, _ASTRAY = 0.35, 0.3
_EDGE_S = 0.05
_SMALLEST_SHARE = 0.25


@dataclass(frozen=True, slots=True)
class Limits:
    """What counts as a touch: how near, how slow, how still once (eye distances, and a second), how long at least.

    `larger` is by which factor the hand may look larger than in the smallest quarter of the frames at places.
    """

    near: float = 0.27
    slow: float = 0.7
    still: float = 0.12
    stay_s: float = 0.1
    larger: float = np.inf


USUAL: Final = Limits()
SURE: Final = Limits(near=0.22, slow=0.5, still=0.1, stay_s=0.13)
POSSIBLE: Final = Limits(near=0.35, slow=1.2, still=0.3, stay_s=0.05)
AT_THE_SKIN: Final = Limits(larger=1.04)
"""A finger that hovers before the face is nearer to the camera: its hand looks larger than where it touches."""


@dataclass(frozen=True, slots=True)
class Touch:
    """A touch: of which site, from when to when."""

    site: str
    interval: Interval

    @property
    def side(self) -> Side:
        """The examined person's own side."""
        return "left" if self.site.startswith("left") else "right"


def tip_at_sites(tracks: xr.Dataset) -> xr.DataArray:
    """Distance of the nearest fingertip from each of six places of the face, in distances of the outer eye corners.

    The places lie in the face's own frame: from the middle of the eyes, along the line of the eyes and across it, put
    right for the turn of the head (see `SITES`). A fingertip of any hand is that of the index finger, or its middle
    with the thumb's where they pinch. It counts for the place that is nearest to it, once the shift is
    taken off by which the touches of the stretch land beside the places. The face's frame is low-passed at
    1.5 Hz and held over up to 2 s in which the face is hidden, by straight lines; the fingertip is low-passed at 6 Hz,
    neither with a shift in time. Its speed is the lesser of those from the sample before
    and to the sample after, less what the jitter of this very path makes of it (in quadrature).

    Parameters
    ----------
    tracks
        Landmark dataset; needs hands at 30 and face at 15 frames a second.

    Returns
    -------
    DataArray
        Over ``time`` and ``site``, unit "1", with the coordinates ``reason``, ``speed`` (time, site), in eye
        distances a second, and ``size`` (time, site), how large that hand looks, px. NaN where no fingertip has the
        place as its nearest.

    References
    ----------
    Common practice, no source.
    """
    times = tracks["time"].values
    distance, speed, size = (np.full((len(times), len(SITES)), np.nan) for _ in range(3))
    middle, along, unit = _face(tracks, times)
    tips, sizes = fingertips(tracks, HANDS), hand_sizes(tracks, HANDS)
    ways = [
        _way(times, path, _in_face(path, middle, along, unit, tracks), _size_along(path, tips, sizes))
        for path in linked(times, tips, hand_length(tracks, HANDS))
    ]
    beside = _landing(times, ways)
    for way in ways:
        _put(distance, speed, size, way, beside)
    reason = _reasons(tracks, np.isfinite(unit) & np.isfinite(middle).all(axis=1), np.isfinite(distance).any(axis=1))
    over = ("time", "site")
    coords = {"time": times, "site": list(SITES), "speed": (over, speed), "size": (over, size)}
    return with_reasons(xr.DataArray(distance, dims=("time", "site"), coords=coords), reason, "1")


def _face(tracks: xr.Dataset, times: Series) -> tuple[Series, Series, Series]:
    """Return the middle of the eyes, the line of the eyes and the eye distance in every frame, smooth and filled."""
    right, left = place(tracks, *EYE_CORNERS["right"]), place(tracks, *EYE_CORNERS["left"])
    curves = (*right.T, *left.T, eye_distance(tracks))
    smooth = [_smooth(times, fill_gaps(times, curve, _FACE_HIDDEN_S), _FACE_SMOOTHED_HZ) for curve in curves]
    start, end = np.stack(smooth[:2], axis=1), np.stack(smooth[2:4], axis=1)
    line = end - start
    return (start + end) / 2, line / np.linalg.norm(line, axis=1, keepdims=True), smooth[4]


def _smooth(times: Series, curve: Series, cutoff_hz: float) -> Series:
    """Return a curve low-passed, or as it is where it is too short for that."""
    passed = low_pass(times, curve, cutoff_hz, 1.0)
    return np.where(np.isfinite(passed), passed, curve)


def _in_face(path: Path, middle: Series, along: Series, unit: Series, tracks: xr.Dataset) -> Series:
    """Return a path in the face's own frame, in eye distances to own left and up, shape ``(n, 2)``."""
    yaw = fill_gaps(tracks["time"].values, head_angle(tracks, "yaw"), _FACE_HIDDEN_S)[path.frames]
    line = along[path.frames]
    up = np.stack([line[:, 1], -line[:, 0]], axis=1)
    way = (path.xy - middle[path.frames]) / unit[path.frames, None]
    turn = np.cos(np.radians(np.clip(yaw, -_MAX_YAW_DEG, _MAX_YAW_DEG)))
    return np.stack([(way * line).sum(axis=1) / turn, (way * up).sum(axis=1)], axis=1)


@dataclass(frozen=True, slots=True)
class _Way:
    """A fingertip's way in the face's own frame: its frames, where it is (eye distances), how fast, a second.

    `size` is how large its hand looks, px.
    """

    frames: npt.NDArray[np.intp]
    xy: Series
    rate: Series
    size: Series


def _size_along(path: Path, tips: Series, sizes: Series) -> Series:
    """Return how large the hand of a path looks in each of its frames, px."""
    slots = np.nanargmin(np.linalg.norm(tips[path.frames] - path.xy[:, None], axis=2), axis=1)
    return np.asarray(sizes[path.frames, slots])


def _way(times: Series, path: Path, xy: Series, size: Series) -> _Way:
    whole = np.full((len(times), 2), np.nan)
    whole[path.frames] = xy
    frames = np.arange(path.frames[0], path.frames[-1] + 1)
    clock = times[frames]
    curves = [fill_gaps(clock, whole[frames, axis], _HAND_HIDDEN_S) for axis in (0, 1)]
    smooth = np.stack([_smooth(clock, curve, _SMOOTHED_HZ) for curve in curves], axis=1)
    step = np.linalg.norm(np.diff(smooth, axis=0), axis=1)
    jitter = np.nan_to_num(np.linalg.norm([noise_sd(curve) for curve in curves]))
    step = np.sqrt(np.maximum(step**2 - (_JITTER_LEFT * jitter) ** 2, 0)) / np.diff(clock)
    large = np.full(len(times), np.nan)
    large[path.frames] = size
    rate = np.fmin(np.append(step, np.nan), np.append(np.nan, step))
    return _Way(frames, smooth, rate, fill_gaps(clock, large[frames], _HAND_HIDDEN_S))


def _landing(times: Series, ways: Sequence[_Way]) -> Series:
    """Return how far beside the places the fingertips land in this stretch, eye distances to own left and up.

    A finger is thick, holds a wisp, and its model has a bias: all touches of a stretch land beside their places by much
    the same. Of all shifts within 0.35 either way, the one that leaves the stops nearest to places: least sum of
    squared distances, none above 0.3, each stop weighted by its length up to 0.2 s, plus the square of the shift.
    """
    stops, weights = [], []
    for way in ways:
        for run in true_runs(times[way.frames], way.rate <= USUAL.slow, _HOLE_S / 4, 0.0, _HOLE_S):
            if np.nanmin(way.rate[run.samples]) > USUAL.still:
                continue
            stops.append(way.xy[run.samples].mean(axis=0))
            weights.append(min(1.0, run.duration_s / _FULL_STOP_S))
    if not stops:
        return np.zeros(2)
    grid = np.arange(-_MOST_BESIDE, _MOST_BESIDE + 1e-9, 0.025)
    shifts = np.stack(np.meshgrid(grid, grid), axis=-1).reshape(-1, 1, 1, 2)
    away = np.linalg.norm(np.array(stops)[:, None] - shifts - np.array(list(SITES.values())), axis=-1).min(axis=2)
    cost = np.minimum(away, _ASTRAY) ** 2 @ np.array(weights) + (shifts[:, 0, 0] ** 2).sum(axis=1)
    return np.asarray(shifts[int(np.argmin(cost)), 0, 0])


def _put(distance: Series, speed: Series, size: Series, way: _Way, beside: Series) -> None:
    """Note for every frame how far, how fast and how large one is that is nearer to its place than those before."""
    away = np.linalg.norm((way.xy - beside)[:, None] - np.array(list(SITES.values())), axis=2)
    nearest = np.argmin(np.nan_to_num(away, nan=np.inf), axis=1)
    own = away[np.arange(len(away)), nearest]
    better = np.isfinite(own) & ~(distance[way.frames, nearest] <= own)
    distance[way.frames[better], nearest[better]] = own[better]
    speed[way.frames[better], nearest[better]] = way.rate[better]
    size[way.frames[better], nearest[better]] = way.size[better]


def _reasons(tracks: xr.Dataset, faced: npt.NDArray[np.bool_], handed: npt.NDArray[np.bool_]) -> npt.NDArray[np.int8]:
    hand, face = why_absent(tracks, "hand", Reason.HAND_NOT_FOUND), why_absent(tracks, "face", Reason.FACE_NOT_FOUND)
    reason = np.where(hand != Reason.NONE, hand, Reason.HAND_NOT_FOUND).astype(np.int8)
    reason[~faced & (hand == Reason.NONE)] = Reason.FACE_NOT_FOUND
    reason[faced & handed & (hand == Reason.NONE)] = Reason.NONE
    if (face == Reason.NONE).any() and abs(np.nanmedian(head_angle(tracks, "yaw"))) > _MAX_YAW_DEG:
        reason[:] = Reason.HEAD_TURNED
    reason[(tracks["face_width"].values < MIN_FACE_PX) & (hand != Reason.NOT_LOOKED)] = Reason.FACE_SMALL
    return reason


def touches(trace: xr.DataArray, limits: Limits = USUAL) -> tuple[Touch, ...]:
    """Return the touches in order of time.

    A touch is a stretch of at least ``limits.stay_s``, counting half a frame at either end, in which a fingertip is
    within ``limits.near`` of a place, nearer than to any other, slower than ``limits.slow`` and once than
    ``limits.still``; it is one touch if it leaves for no more than 0.15 s, or stays within 0.5 of the place.
    """
    seen = looked_at(trace)
    times = seen["time"].values
    stay_s = limits.stay_s - float(np.median(np.diff(times))) if len(times) > 1 else 0.0
    there = (np.nan_to_num(seen.values, nan=np.inf) <= limits.near) & (seen["speed"].values <= limits.slow)
    size = seen["size"].values
    if there.any() and np.isfinite(limits.larger):
        there &= size <= limits.larger * np.nanquantile(size[there], _SMALLEST_SHARE)
    left = ~(np.nan_to_num(seen.values, nan=np.inf) <= _LEFT_AT)
    found = [
        Touch(site, Interval(run.onset_s, run.offset_s))
        for number, site in enumerate(SITES)
        for run in _joined(true_runs(times, there[:, number], stay_s - 1e-9, _LIFTED_S, _HOLE_S), left[:, number])
        if np.nanmin(seen["speed"].values[run.samples, number]) <= limits.still
    ]
    return tuple(sorted(found, key=lambda touch: touch.interval))


def _joined(runs: tuple[Run, ...], left: npt.NDArray[np.bool_]) -> list[Run]:
    """Make one of touches of a place between which the fingertip did not go away from it."""
    joined: list[Run] = []
    for run in runs:
        if joined and not left[joined[-1].last : run.first].any():
            before = joined.pop()
            run = Run(before.onset_s, run.offset_s, before.first, run.last)
        joined.append(run)
    return joined


def sites_touched(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return how many of the six places were touched.

    The low end of the 95 % interval asks for a fingertip that is nearer, slower and stays longer (`SURE`), the high end
    for less (`POSSIBLE`), and for one more, since one in 28 touches by rendered hands left no mark. Where a hand near
    the face was lost for 0.4 s or more, the high end is 6.
    """
    refused = _refused(trace)
    if refused is not None:
        return (refused,)
    made = touches(trace)
    value = _count(made)
    low, high = min(value, _count(touches(trace, SURE))), max(value, _count(touches(trace, POSSIBLE)))
    high = len(SITES) if _lost_near_face(trace) else min(high + _UNNOTICED, len(SITES))
    moments = tuple(touch.interval for touch in made)
    return (stated(trace, Bounded(float(value), float(low), float(high)), rests_on=moments),)


def _count(made: tuple[Touch, ...]) -> int:
    return len({touch.site for touch in made})


def _refused(trace: xr.DataArray) -> Estimate | None:
    seen = looked_at(trace)
    times = seen["time"].values
    if np.isfinite(seen.values).sum() < 2:
        return unstated(trace)
    if np.median(np.diff(times)) > 1 / LEAST_RATE_HZ:
        return unstated(trace, Reason.RATE_LOW)
    return None


def _lost_near_face(trace: xr.DataArray) -> bool:
    seen = looked_at(trace)
    times, nearest = seen["time"].values, np.nan_to_num(seen.values, nan=np.inf).min(axis=1)
    lost = true_runs(times, np.isinf(nearest), _UNSEEN_S)
    return any(run.first > 0 and nearest[run.first - 1] < _NEAR for run in lost)


def rhythm(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return how irregular the touches followed each other: standard deviation over mean of the times between onsets.

    Needs four touches. The 95 % interval joins 0.05 s, or half a frame, of error at each onset with the values of the
    touches that are found with stricter and looser limits, with those during which the hand did not look larger than
    where it looked smallest (`AT_THE_SKIN`), and with those without any one or two of them: a finger that hovers on its
    way looks like a touch, since depth cannot be seen.
    """
    refused = _refused(trace)
    if refused is not None:
        return (refused,)
    made = touches(trace)
    value = variation(made)
    if value is None:
        return (unstated(trace, Reason.NOT_SEEN),)
    onsets = np.array([touch.interval.onset_s for touch in made])
    edge = max(_EDGE_S, float(np.median(np.diff(looked_at(trace)["time"].values))) / 2)
    half = NORMAL_95 * edge * np.sqrt(2 / (len(onsets) - 1)) / float(np.diff(onsets).mean())
    others = [variation(touches(trace, limits)) for limits in (SURE, POSSIBLE, AT_THE_SKIN)]
    others += [variation(fewer) for left in (1, 2) for fewer in combinations(made, len(made) - left)]
    known = [value, *(other for other in others if other is not None)]
    number = Bounded(value, max(0.0, min(known) - half), max(known) + half)
    return (stated(trace, number, rests_on=tuple(touch.interval for touch in made)),)


def variation(made: tuple[Touch, ...]) -> float | None:
    """Return the coefficient of variation of the times between onsets; None for fewer than `LEAST_TOUCHES`."""
    if len(made) < LEAST_TOUCHES:
        return None
    between = np.diff([touch.interval.onset_s for touch in made])
    return float(np.std(between) / np.mean(between))


def touch_events(trace: xr.DataArray) -> tuple[Event, ...]:
    """Return the touches, each of kind one of `PARTS` with its side."""
    return tuple(Event(touch.site, touch.interval, touch.side) for touch in touches(trace))


def touches_drawn(tracks: xr.Dataset) -> tuple[Part, ...]:
    """Draw the six places in the face's own frame, as they lie in each frame alone, and the way of the fingertips."""
    corners = [face(tracks, *EYE_CORNERS[side]).mean(axis=1) for side in ("right", "left")]
    middle, line = (corners[0] + corners[1]) / 2, corners[1] - corners[0]
    along = line / np.linalg.norm(line, axis=1, keepdims=True)
    up = np.stack([along[:, 1], -along[:, 0]], axis=1)
    unit = eye_distance(tracks)[:, None]
    turn = np.cos(np.radians(np.clip(head_angle(tracks, "yaw"), -_MAX_YAW_DEG, _MAX_YAW_DEG)))[:, None]
    sites = [middle + unit * (across * turn * along + height * up) for across, height in SITES.values()]
    return (
        Part(kind="points", words="the six places", stream="face", places=np.stack(sites, axis=1)),
        eye_line(tracks),
        *tips_drawn(tracks),
    )


_NEEDS = (Need("hand", 30.0), Need("face", 15.0))

MEASURES = (
    Measure(
        name="touch_sequence",
        title="Places of the face touched",
        trace=tip_at_sites,
        summarise=sites_touched,
        events=touch_events,
        unit="1",
        unit_words="of 6 sites",
        parts=PARTS,
        construction=touches_drawn,
        needs=_NEEDS,
        curve="Fingertip's distance from each place",
        reference="common practice, no source",
    ),
    Measure(
        name="touch_rhythm",
        title="Irregularity of the touches",
        trace=tip_at_sites,
        summarise=rhythm,
        events=touch_events,
        unit="1",
        unit_words="coefficient of variation",
        construction=touches_drawn,
        needs=_NEEDS,
        curve="Fingertip's distance from each place",
        reference="common practice, no source",
    ),
)
