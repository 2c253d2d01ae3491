"""Sideways sway of a standing person: root mean square, range and velocity of one shared curve.

From the front a single camera sees the medio-lateral axis alone; sway to the front and back is not measured, nor is any
area. The shoulders are followed, not the hips, because the pose model follows their small movements better. Lengths
are in percent of the standing height, which can be read from the same picture and, unlike the shoulder width, does not
shrink when the person turns; with a known height they are given in millimetres too.

The planted feet of the same film tell how much of the curve is noise: whatever the ankles' middle seems to do in the
same band of frequencies is not sway. It is taken off in quadrature; what does not rise above it is not given as a
number.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.construction import Part
from review.domain.measure import EventFunction, Measure, Need, with_reasons
from review.domain.model import Estimate, Event, Interval, Reason, Side
from review.measures.capture_quality import camera_followed, camera_moving
from review.measures.drawn import body, both, joined
from review.measures.learned import bias
from review.measures.stance_width import body_height_px, middle, point, standing_reasons
from review.signals.estimates import evidence, reason_codes, stated, unstated
from review.signals.filtering import low_pass, pieces, speed, spread_in_time
from review.signals.posturography import path_length, sway_range
from review.signals.runs import runs_above
from review.signals.uncertainty import Bounded, above_floor, bounded, effective_size

Series = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Indices = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch without a gap: clock, values about the mean of its stance, and which stance it belongs to.

    A stance lasts until a foot moves or the person is lost; the feet stand where they stood before when only the camera
    was knocked.
    """

    clock: Series
    values: Series
    stance: int


Pieces = list[Stretch]

SWAY_CUTOFF_HZ: Final = 2.0
VELOCITY_CUTOFF_HZ: Final = 1.0
STEP_CUTOFF_HZ: Final = 1.0

STEP_SPEED: Final = 4.0
"""Speed of an ankle, in percent of the standing height a second, above which the foot counts as moving."""

LEAST_SECONDS: Final = 3.0
"""Standing still on both feet for less than this gives no number."""

ADVISED_SECONDS: Final = 20.0
"""A number that rests on less than this is marked as resting on a short stretch."""

LEAST_RATE_HZ: Final = 8.0

LEAST_EXCURSION: Final = 2.0
"""An excursion off planted feet that is smaller than this, in percent of the standing height, is not told (35 mm)."""

HEIGHT_SD: Final = 0.015
"""By which share the height in the picture errs between people, beyond what drawn people can show.

Eyes lie higher or lower in a head by about 0.5 % of the height, ankles by 0.4 % (both from memory), and shoes add to
the height, not to the distance of eyes and ankles, or a person errs in it, by about 1 % (common practice, no source).
"""

_FOLLOWED_SHARE = 0.5
_KNOCK_S = 2.0
_KNOCKED = {int(Reason.CAMERA_MOVED), int(Reason.POSTURE_NOT_HELD), int(Reason.TOO_SHORT), int(Reason.NOT_LOOKED)}
_EXCURSION_NOISES = 6.0
_EXCURSION_SHARE = 0.2
_EXCURSION_SECONDS = 1.0
_MARGIN_S = 0.3
_MAX_GAP_S = 0.5
_FLOOR_FACTOR = 2.0
_NEEDS = (Need("pose", 15.0), Need("picture", 5.0))
_REFERENCE = "Prieto et al. 1996, IEEE Trans. Biomed. Eng. 43:956-966, on the medio-lateral axis"


def feet_moving(tracks: xr.Dataset) -> Flags:
    """Tell for every frame whether a foot moves: an ankle faster than `STEP_SPEED`, or one within 0.3 s of that."""
    clock = tracks["time"].values
    limit = STEP_SPEED / 100 * _typical(body_height_px(tracks))
    moving = np.zeros(len(clock), dtype=bool)
    for side in ("left", "right"):
        for axis in ("x", "y"):
            track = point(tracks, f"{side}_ankle").sel(space=axis).values
            smooth = low_pass(clock, track, STEP_CUTOFF_HZ, _MAX_GAP_S)
            known = np.isfinite(smooth)
            moving[known] |= np.abs(speed(clock[known], smooth[known])) > limit
    return spread_in_time(clock, moving, _MARGIN_S)


def _typical(values: npt.ArrayLike) -> float:
    known = np.asarray(values, np.float64)
    known = known[np.isfinite(known)]
    return float(np.median(known)) if len(known) else np.nan


def postural_sway(tracks: xr.Dataset) -> xr.DataArray:
    """Sideways displacement of the shoulders' middle from where the feet stand, in percent of the standing height.

    ``100 (x_shoulders - mean(x_ankles)) / body_height_px`` in the picture, low-passed at 2 Hz without a shift in time;
    positive to the right of the picture, which is the person's own left when seen from the front. The mean of the
    ankles' middle is taken over each stretch in which both feet stay put, so a step starts anew. The coordinate
    ``feet`` over time holds the same for the ankles' middle, low-passed likewise: the noise of this film. The
    coordinate ``apparent`` holds the shoulders' middle from the ankles' middle of the same moment, positive to the
    person's own left, wherever a person is seen standing from front or back, whatever feet and camera do: it tells that
    the body went aside, and when; how far only roughly, for a leg that swings out takes the ankles' middle along.

    Shape ``(time,)``, unit "% height". NaN where the person is not seen standing from the front (see
    `standing_reasons`), while a foot moves (`Reason.POSTURE_NOT_HELD`), while the camera moves and in stretches
    shorter than half a second. At least 8 looks a second, better 15.

    References
    ----------
    Prieto T. E. et al. (1996), Measures of postural steadiness, IEEE Trans. Biomed. Eng. 43:956-966 (from memory).
    """
    return _displacement(tracks, 1.0, "% height")


def postural_sway_mm(tracks: xr.Dataset) -> xr.DataArray:
    """Sideways displacement as in `postural_sway`, in millimetres by the person's own height.

    Shape ``(time,)``, unit mm; NaN throughout (`Reason.NO_SCALE`) when the height is not known.

    References
    ----------
    As for `postural_sway`.
    """
    return _displacement(tracks, float(tracks.attrs["height_mm"]) / 100, "mm")


def _displacement(tracks: xr.Dataset, percent: float, units: str) -> xr.DataArray:
    """Build the trace; `percent` is what one percent of the height is in the unit of the trace."""
    clock = tracks["time"].values
    reasons = _reasons(tracks, percent)
    held = reasons == int(Reason.NONE)
    scale = 100 * percent / _typical(body_height_px(tracks)[held])
    sides = {}
    for part in ("shoulder", "ankle"):
        track = middle(tracks, part).sel(space="x").values
        sides[part] = np.where(held, low_pass(clock, track, SWAY_CUTOFF_HZ, _MAX_GAP_S), np.nan)
    place = np.full(len(clock), np.nan)
    for run in pieces(clock, sides["ankle"], _MAX_GAP_S):
        place[run] = sides["ankle"][run].mean()
    trace = xr.DataArray(scale * (sides["shoulder"] - place), dims="time", coords={"time": tracks["time"]})
    feet = ("time", scale * (sides["ankle"] - place))
    apparent = ("time", percent * _apparent(tracks))
    reasons = np.where(held & ~np.isfinite(trace.values), int(Reason.TOO_SHORT), reasons)
    attrs = {"percent": percent, "camera_followed": camera_followed(tracks)}
    return with_reasons(trace.assign_coords(feet=feet, apparent=apparent).assign_attrs(attrs), reasons, units)


def _apparent(tracks: xr.Dataset) -> Series:
    """Shoulders' middle from the ankles' middle, in percent of the height, positive to the own left."""
    clock, seen = tracks["time"].values, standing_reasons(tracks) == int(Reason.NONE)
    across = (point(tracks, "left_shoulder") - point(tracks, "right_shoulder")).sel(space="x").values
    facing = np.sign(_typical(across[seen]))
    aside = (middle(tracks, "shoulder") - middle(tracks, "ankle")).sel(space="x").values
    scale = 100 * facing / _typical(body_height_px(tracks)[seen])
    return low_pass(clock, np.where(seen, scale * aside, np.nan), SWAY_CUTOFF_HZ, _MAX_GAP_S)


def _reasons(tracks: xr.Dataset, percent: float) -> npt.NDArray[np.int8]:
    reasons = standing_reasons(tracks)
    if not np.isfinite(percent):
        return np.full(reasons.shape, int(Reason.NO_SCALE), np.int8)
    camera = spread_in_time(tracks["time"].values, camera_moving(tracks), _MARGIN_S)
    free = reasons == int(Reason.NONE)
    reasons = np.where(free & feet_moving(tracks), int(Reason.POSTURE_NOT_HELD), reasons)
    return np.where(free & camera, int(Reason.CAMERA_MOVED), reasons).astype(np.int8)


def _rms(stretches: Pieces) -> float:
    return float(np.sqrt((np.concatenate([one.values for one in stretches]) ** 2).mean()))


def _range(stretches: Pieces) -> float:
    stances = {one.stance for one in stretches}
    return max(sway_range(np.concatenate([one.values for one in stretches if one.stance == each])) for each in stances)


def _velocity(stretches: Pieces) -> float:
    """Way over time after a further low-pass at 1 Hz; stretches too short for it do not count."""
    way, seconds = 0.0, 0.0
    for one in stretches:
        smooth = low_pass(one.clock, one.values, VELOCITY_CUTOFF_HZ, _MAX_GAP_S)
        if np.isfinite(smooth).all():
            way += path_length(smooth)
            seconds += float(one.clock[-1] - one.clock[0])
    return way / seconds if seconds else np.nan


@dataclass(frozen=True, slots=True)
class SwaySummary:
    """Sum up the displacement by one statistic and take this film's noise off.

    Parameters
    ----------
    statistic
        What is computed, of the shoulders for the total and of the feet for the noise floor.
    key
        Under which the model's bias is learned: what it makes of the whole sway, and of small movements.
    outright
        Whether noise may add to the statistic as it is, and not only in quadrature, as it does to extremes that are
        reached again and again. The low end of the interval then allows for that.
    """

    statistic: Callable[[Pieces], float]
    key: str
    outright: bool = False

    def __call__(self, trace: xr.DataArray) -> tuple[Estimate, ...]:
        """Return the statistic above the noise floor, or why there is none.

        The 95 % interval joins the noise that happens to run along with the sway, what is left of the bias, and how
        sure the height in the picture is; the floor may be anything from nothing to twice what the feet show. It says
        how well the film shows this very stretch, not how the person would sway in another one.
        """
        shoulders, feet = _stretches(trace)
        seconds = _seconds(shoulders)
        if seconds < LEAST_SECONDS:
            return (_too_little(trace),)
        floor = self.statistic(feet)
        count = sum(effective_size(one.values) for one in feet)
        known = bias(self.key)
        total = known.corrected(self.statistic(shoulders), noise=floor / np.sqrt(count), scale_sd=HEIGHT_SD)
        number = above_floor(total, Bounded(floor / known.scale, 0.0, _FLOOR_FACTOR * floor / known.scale))
        if self.outright:
            number = replace(number, low=min(number.low, float(total.low - floor / known.scale)))
        moments = evidence(trace)
        if number.low <= 0:
            return (unstated(trace, Reason.BELOW_NOISE, rests_on=moments),)
        return (stated(trace, number, weak=_weak(trace, seconds), rests_on=moments),)


def noise_floor(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return the root mean square of what the planted feet seem to do; twice that may be in the shoulders."""
    _, feet = _stretches(trace)
    if _seconds(feet) < LEAST_SECONDS:
        return (_too_little(trace),)
    floor = _rms(feet)
    count = sum(effective_size(one.values) for one in feet)
    number = bounded(floor, noise=floor / np.sqrt(2 * count))
    return (stated(trace, number.within(0.0)),)


def largest_excursion(trace: xr.DataArray) -> tuple[Event, ...]:
    """Return when the body went aside the farthest, and to which of its own sides.

    On the apparent curve, from its median while the feet were planted, or, where they were not, from straight above
    the feet: from where a fifth of the way is passed until the curve is back there; peak is the way, in the unit of
    the trace. None is told that is not six times the noise of the planted feet, or, without any, `LEAST_EXCURSION`.
    """
    known = np.isfinite(trace["apparent"].values)
    clock, curve = trace["time"].values[known], trace["apparent"].values[known]
    if len(clock) < 2 or clock[-1] - clock[0] < _EXCURSION_SECONDS:
        return ()
    rest, least = _rest_and_least(trace)
    away = curve - rest
    top = int(np.argmax(np.abs(away)))
    far = abs(float(away[top]))
    if far <= least:
        return ()
    side: Side = "left" if away[top] > 0 else "right"
    runs = runs_above(clock, np.sign(away[top]) * away, _EXCURSION_SHARE * far, max_step_s=_MAX_GAP_S)
    run = next(run for run in runs if run.first <= top <= run.last)
    return (Event("largest_excursion", Interval(max(0.0, run.onset_s), max(0.0, run.offset_s)), side, far),)


def _rest_and_least(trace: xr.DataArray) -> tuple[float, float]:
    """Return where on the apparent curve the body stood, and from how far off an excursion is told."""
    _, feet = _stretches(trace)
    if _seconds(feet) < LEAST_SECONDS:
        return 0.0, LEAST_EXCURSION * float(trace.attrs["percent"])
    planted = np.isfinite(trace.values) & np.isfinite(trace["apparent"].values)
    return _typical(trace["apparent"].values[planted]), _EXCURSION_NOISES * _rms(feet)


def _stretches(trace: xr.DataArray) -> tuple[Pieces, Pieces]:
    """Return the stretches of the shoulders, and those of the feet, while the feet stay put."""
    clock = trace["time"].values
    runs = [run for run in pieces(clock, trace.values, _MAX_GAP_S) if clock[run[-1]] - clock[run[0]] >= 1.0]
    stances = np.cumsum([not _same_stance(trace, one, other) for one, other in pairwise(runs)], dtype=int)
    numbers = np.concatenate(([0], stances))
    return _about_stances(clock, trace.values, runs, numbers), _about_stances(
        clock, trace["feet"].values, runs, numbers
    )


def _same_stance(trace: xr.DataArray, before: Indices, after: Indices) -> bool:
    """Whether nothing but a knock of the camera, which takes the feet along, lies between two stretches."""
    clock = trace["time"].values
    between = set(reason_codes(trace)[before[-1] + 1 : after[0]].tolist())
    known = int(Reason.CAMERA_MOVED) in between and between <= _KNOCKED
    return bool(known and clock[after[0]] - clock[before[-1]] <= _KNOCK_S)


def _about_stances(clock: Series, values: Series, runs: list[Indices], stances: Indices) -> Pieces:
    means = {
        each: values[np.concatenate([run for run, own in zip(runs, stances, strict=False) if own == each])].mean()
        for each in set(stances[: len(runs)].tolist())
    }
    return [
        Stretch(clock[run], values[run] - means[int(own)], int(own)) for run, own in zip(runs, stances, strict=False)
    ]


def _seconds(stretches: Pieces) -> float:
    return sum(float(one.clock[-1] - one.clock[0]) for one in stretches)


def _too_little(trace: xr.DataArray) -> Estimate:
    bare = unstated(trace)
    return unstated(trace, Reason.TOO_SHORT) if bare.reasons == (Reason.TOO_FEW_FRAMES,) else bare


def _weak(trace: xr.DataArray, seconds: float) -> tuple[Reason, ...]:
    known = trace["time"].values[np.isfinite(trace.values)]
    met = {
        Reason.RATE_LOW: 1 / np.median(np.diff(known)) < LEAST_RATE_HZ,
        Reason.TOO_SHORT: seconds < ADVISED_SECONDS,
        Reason.CAMERA_UNCHECKED: trace.attrs["camera_followed"] < _FOLLOWED_SHARE,
    }
    return tuple(reason for reason, weak in met.items() if weak)


def _sway_drawn(tracks: xr.Dataset, trace: xr.DataArray, unit: str) -> tuple[Part, ...]:
    feet, shoulders = (body(tracks, both(part))[:, 0] for part in ("ankle", "shoulder"))
    over = np.stack([feet[:, 0], shoulders[:, 1]], axis=1)
    reading = np.asarray(trace.values, np.float64)
    return (
        Part(kind="line", words="upright over the feet", stream="pose", places=joined(feet, over)),
        Part(
            kind="line",
            words="shoulders' middle beside it",
            stream="pose",
            places=joined(over, shoulders),
            reading=reading,
            unit=unit,
        ),
        Part(kind="points", words="shoulders' middle", stream="pose", places=joined(shoulders)),
    )


def sway_drawn(tracks: xr.Dataset) -> tuple[Part, ...]:
    """Draw the upright over the feet's middle and how far the shoulders' middle lies beside it, % of the height."""
    return _sway_drawn(tracks, postural_sway(tracks), "% of height")


def sway_mm_drawn(tracks: xr.Dataset) -> tuple[Part, ...]:
    """Draw the upright over the feet's middle and how far the shoulders' middle lies beside it, mm."""
    return _sway_drawn(tracks, postural_sway_mm(tracks), "mm")


def floor_drawn(tracks: xr.Dataset) -> tuple[Part, ...]:
    """Draw the way of the feet's middle, which stands still: what it seems to do is noise."""
    feet = body(tracks, both("ankle"))
    reading = np.asarray(postural_sway(tracks)["feet"].values, np.float64)
    return (Part(kind="trail", words="feet's middle", stream="pose", places=feet, reading=reading, unit="% of height"),)


def _twins(
    name: str,
    title: str,
    statistic: Callable[[Pieces], float],
    per: str = "",
    events: EventFunction | None = None,
    outright: bool = False,
) -> tuple[Measure, Measure]:
    """Declare one statistic of the sway in percent of the height and in millimetres, both `per` unit of time."""
    share = Measure(
        name=name,
        title=f"Sideways sway ({title})",
        trace=postural_sway,
        summarise=SwaySummary(statistic, name, outright),
        events=events,
        unit=f"% height{per}",
        unit_words="percent of height" + (" a second" if per else ""),
        construction=sway_drawn,
        needs=_NEEDS,
        curve="Shoulders to the side",
        reference=_REFERENCE,
    )
    length = replace(
        share,
        name=f"{name}_mm",
        title=f"Sideways sway ({title}, mm{per})",
        trace=postural_sway_mm,
        summarise=SwaySummary(statistic, f"{name}_mm", outright),
        unit=f"mm{per}",
        unit_words="",
        construction=sway_mm_drawn,
    )
    return share, length


MEASURES = (
    *_twins("postural_sway", "RMS", _rms, events=largest_excursion),
    *_twins("sway_range", "range", _range, outright=True),
    *_twins("sway_velocity", "mean velocity", _velocity, per="/s"),
    Measure(
        name="sway_noise_floor",
        title="Noise floor of the sideways sway",
        trace=postural_sway,
        summarise=noise_floor,
        unit="% height",
        unit_words="percent of height",
        construction=floor_drawn,
        needs=_NEEDS,
        curve="Shoulders to the side",
        reference="common practice, no source",
    ),
)
