"""Steps: moments at which a foot left its place, by the ankles alone.

A step is a foot that goes away from where it stood by a few centimetres, whether it comes back or not. Scaled by the
standing height in the picture, so that it needs no known height. A camera that moves takes both feet along at once,
so a foot that goes alone has stepped whatever the background seems to do.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.construction import Part
from review.domain.measure import Measure, Need, with_reasons
from review.domain.model import Estimate, Event, Interval, Reason, Side
from review.domain.tracks import why_absent
from review.measures.capture_quality import camera_moving
from review.measures.drawn import body
from review.measures.stance_width import body_height_px, in_view, point, shoulder_turn_deg
from review.signals.estimates import reason_codes, stated, unstated
from review.signals.filtering import low_pass, pieces, speed, spread_in_time
from review.signals.runs import Run, true_runs
from review.signals.uncertainty import Bounded, noise_sd

Series = npt.NDArray[np.float64]

LEAST_WAY: Final = 2.0
"""A foot that goes less far from its place than this, in percent of the standing height, has not stepped (35 mm)."""

STEP_SPEED: Final = 3.0
"""Speed of an ankle, in percent of the standing height a second, above which the foot is on its way."""

CUTOFF_HZ: Final = 2.5
GREATEST_TURN_DEG: Final = 45.0

_SIDES: Final[tuple[Side, Side]] = ("left", "right")
_NOISES = 5.0
_BRIDGE_S = 0.2
_BEFORE_S = 0.5
_ONSET_SHARE = 0.05
_ALONG_SHARE = 0.6
_MAX_GAP_S = 0.5
_MARGIN_S = 0.3
_LEAST_SECONDS = 1.0
_LEAST_SHARE = 0.5
_SURE, _POSSIBLE = 1.5, 0.6


@dataclass(frozen=True, slots=True)
class _Way:
    """A foot under way: when, on which side, how far from its place at most (percent of the height)."""

    onset_s: float
    offset_s: float
    side: Side
    far: float

    def beside(self, other: _Way) -> bool:
        """Whether both are under way at a time."""
        return self.onset_s < other.offset_s and other.onset_s < self.offset_s


def ankle_speed(tracks: xr.Dataset) -> xr.DataArray:
    """Speed of each ankle in percent of the standing height a second.

    Of the ankle's place in the picture, low-passed at 2.5 Hz without a shift in time, over the median standing height
    (see `review.measures.stance_width.body_height_px`). The coordinates ``across`` and ``down`` hold the place itself,
    in percent of the height, ``camera`` whether the background moves; the attribute ``jitter`` is the noise of the
    place before smoothing.

    Shape ``(time, side)``, unit "% height/s". NaN where nobody was found, where the feet are out of view, and where
    the shoulder line is turned by more than 45 deg out of the picture plane.

    References
    ----------
    Common practice, no source.
    """
    clock = tracks["time"].values
    reasons = _reasons(tracks)
    heights = body_height_px(tracks)[reasons == int(Reason.NONE)]
    scale = 100 / float(np.median(heights)) if len(heights) else np.nan
    raw = np.stack([scale * point(tracks, f"{side}_ankle").values for side in _SIDES], axis=1)
    raw[reasons != int(Reason.NONE)] = np.nan
    smooth = np.stack([_by_column(clock, raw[:, side]) for side in range(2)], axis=1)
    pace = np.stack([_pace(clock, smooth[:, side]) for side in range(2)], axis=1)
    trace = xr.DataArray(pace, dims=("time", "side"), coords={"time": tracks["time"], "side": list(_SIDES)})
    jitter = max(noise_sd(raw[np.isfinite(raw[:, 0, 0]), side, axis]) for side in range(2) for axis in range(2))
    placed = trace.assign_coords(across=(("time", "side"), smooth[..., 0]), down=(("time", "side"), smooth[..., 1]))
    placed = placed.assign_coords(camera=("time", spread_in_time(clock, camera_moving(tracks), _MARGIN_S)))
    return with_reasons(placed, reasons, "% height/s").assign_attrs(jitter=jitter)


def _reasons(tracks: xr.Dataset) -> npt.NDArray[np.int8]:
    conditions = [
        ~in_view(tracks, "ankle"),
        np.nan_to_num(shoulder_turn_deg(tracks)) > GREATEST_TURN_DEG,
    ]
    reasons = [int(Reason.FEET_OUT_OF_VIEW), int(Reason.OBLIQUE_VIEW)]
    absent = why_absent(tracks, "pose", Reason.NOBODY_FOUND)
    return np.where(absent != Reason.NONE, absent, np.select(conditions, reasons, int(Reason.NONE))).astype(np.int8)


def _by_column(clock: Series, places: Series) -> Series:
    return np.stack([low_pass(clock, places[:, axis], CUTOFF_HZ, _MAX_GAP_S) for axis in range(2)], axis=1)


def _pace(clock: Series, places: Series) -> Series:
    pace = np.full(len(clock), np.nan)
    for run in pieces(clock, places[:, 0], _MAX_GAP_S):
        pace[run] = np.hypot(*(speed(clock[run], places[run, axis]) for axis in range(2)))
    return pace


def _ways(trace: xr.DataArray, times: float) -> list[_Way]:
    """Return the steps of both feet by onset, with the least way multiplied by `times`."""
    jitter = float(trace.attrs["jitter"])
    least = times * max(LEAST_WAY, _NOISES * jitter if np.isfinite(jitter) else 0.0)
    found = sorted(
        (way for side in _SIDES for way in _of_foot(trace, side) if way.far >= least), key=lambda way: way.onset_s
    )
    return [way for way in found if not any(_carries(other, way) for other in found)]


def _carries(stronger: _Way, way: _Way) -> bool:
    """Whether a foot only seems to go along because the model moves both when one steps."""
    return stronger.side != way.side and stronger.beside(way) and way.far < _ALONG_SHARE * stronger.far


def _of_foot(trace: xr.DataArray, side: Side) -> list[_Way]:
    one = trace.sel(side=side, drop=True)
    known = np.flatnonzero(np.isfinite(one.values))
    clock, pace = one["time"].values[known], one.values[known]
    places = np.stack([one["across"].values[known], one["down"].values[known]], axis=1)
    runs = true_runs(clock, pace > STEP_SPEED, bridge_s=_BRIDGE_S, max_step_s=_MAX_GAP_S)
    ends = [0.0, *(run.offset_s for run in runs)]
    return [_way(clock, places, run, end, side) for run, end in zip(runs, ends, strict=False)]


def _way(clock: Series, places: Series, run: Run, since_s: float, side: Side) -> _Way:
    """Measure one run from the place before it; the onset is where a twentieth of the way is done."""
    before = (clock >= max(run.onset_s - _BEFORE_S, since_s)) & (clock < run.onset_s)
    start = np.median(places[before], axis=0) if before.any() else places[run.first]
    away = np.hypot(*(places[run.samples] - start).T)
    far = float(away.max())
    onset = float(clock[run.first + int(np.argmax(away >= _ONSET_SHARE * far))])
    return _Way(onset, run.offset_s, side, far)


def steps(trace: xr.DataArray) -> tuple[Event, ...]:
    """Return every step with its side; without one where both feet went at once, as in a jump.

    From the moment a twentieth of the way is done until the foot is down; peak is the farthest from where it stood, in
    percent of the standing height. Both feet at once while the background moves are the camera's doing and no step.
    """
    return tuple(event for event in _all_steps(trace) if not _by_camera(trace, event))


def _by_camera(trace: xr.DataArray, event: Event) -> bool:
    inside = (trace["time"].values >= event.interval.onset_s) & (trace["time"].values <= event.interval.offset_s)
    return event.side is None and bool(trace["camera"].values[inside].any())


def _all_steps(trace: xr.DataArray, times: float = 1.0) -> list[Event]:
    """Return single feet and pairs of feet under way, with the least way multiplied by `times`."""
    events: list[Event] = []
    ways = _ways(trace, times)
    joined = {index for index, (one, other) in enumerate(pairwise(ways)) if _at_once(one, other)}
    for index, way in enumerate(ways):
        if index - 1 in joined:
            continue
        side = None if index in joined else way.side
        events.append(Event("step", Interval(max(0.0, way.onset_s), max(0.0, way.offset_s)), side, way.far))
    return events


def _at_once(one: _Way, other: _Way) -> bool:
    return one.side != other.side and abs(one.onset_s - other.onset_s) < _BRIDGE_S and one.beside(other)


def count_of_steps(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return how many steps there were.

    The interval runs from those that went half as far again as a step must to those that went six tenths as far, with
    those that may be the camera's; one more where half a second or more could not be judged.
    """
    seen = trace.isel(time=np.flatnonzero(reason_codes(trace) != int(Reason.NOT_LOOKED)))
    known = np.isfinite(seen.values).all(axis=1)
    clock = seen["time"].values
    if known.sum() < 2 or known.mean() < _LEAST_SHARE:
        return (unstated(trace),)
    if clock[known][-1] - clock[known][0] < _LEAST_SECONDS:
        return (unstated(trace, Reason.TOO_SHORT),)
    found, doubtful = steps(trace), _all_steps(trace, _POSSIBLE)
    blind = any(run.duration_s >= _MAX_GAP_S for run in true_runs(clock, ~known))
    low = min(len(_all_steps(trace, _SURE)), len(found))
    number = Bounded(len(found), low, max(len(doubtful), len(found)) + blind)
    weak = (Reason.CAMERA_MOVED,) if any(_by_camera(trace, event) for event in doubtful) else ()
    moments = tuple(event.interval for event in found)
    return (stated(trace, number, weak=weak, rests_on=moments or None),)


def feet_drawn(tracks: xr.Dataset) -> tuple[Part, ...]:
    """Draw the way of each ankle, with its speed."""
    pace = ankle_speed(tracks)
    return tuple(
        Part(
            kind="trail",
            words=f"way of the {side} ankle",
            stream="pose",
            places=body(tracks, f"{side}_ankle"),
            reading=np.asarray(pace.sel(side=side).values, np.float64),
            unit="% of height a second",
            side=side,
        )
        for side in _SIDES
    )


MEASURES = (
    Measure(
        name="base_of_support",
        title="Steps (feet that left their place)",
        trace=ankle_speed,
        summarise=count_of_steps,
        events=steps,
        unit="1",
        unit_words="steps",
        construction=feet_drawn,
        needs=(Need("pose", 15.0), Need("picture", 5.0)),
        curve="Speed of each ankle",
        reference="common practice, no source",
    ),
)
