"""Distance between the ankles' centres, in shoulder widths and, with a known height, in millimetres.

The pose model's points are not joint centres. On rendered people whose joint centres are known it puts the ankles a
little too far apart, which is taken off here. Its shoulders lie between 6 % too close together and 14 % too far
apart, depending on the body; that has no mean to take off and is in the interval. A body's height in the picture is
read far better than its shoulder width, so millimetres are surer than shoulder widths when the height is known.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.construction import Part
from review.domain.measure import Measure, Need, with_reasons
from review.domain.model import Estimate, Event, Interval, Reason
from review.domain.tracks import why_absent
from review.measures.drawn import body, both
from review.measures.learned import bias
from review.signals.estimates import stated, unstated
from review.signals.filtering import low_pass
from review.signals.geometry import distance, midpoint
from review.signals.runs import runs_above
from review.signals.uncertainty import bounded, median_error

Flags = npt.NDArray[np.bool_]

EYE_TO_ANKLE: Final = 0.897
"""Eye height (0.936) less ankle height (0.039) as shares of standing height."""

TOGETHER: Final = 0.45
"""Below this ratio the feet count as together."""

LEAST_VISIBILITY: Final = 0.5
GREATEST_TURN_DEG: Final = 20.0

_TURN_CUTOFF_HZ = 0.5
_LEAST_FRAMES = 5
_TOGETHER_MIN_S = 0.5


def point(tracks: xr.Dataset, name: str) -> xr.DataArray:
    """Return one body point's place in the picture, over time and space, px, as float64."""
    return tracks["pose_xy"].sel(pose_point=name, drop=True).astype(np.float64)


def middle(tracks: xr.Dataset, part: str) -> xr.DataArray:
    """Return the middle of a left and right body point (``"shoulder"``, ``"ankle"``, ...), px."""
    return midpoint(point(tracks, f"left_{part}"), point(tracks, f"right_{part}"))


def points_in_view(tracks: xr.Dataset, *parts: str) -> xr.DataArray:
    """Tell which points of the left and right `parts` are found, likely visible and inside the picture.

    Returns
    -------
    DataArray of bool
        Over time and pose_point.
    """
    names = [f"{side}_{part}" for part in parts for side in ("left", "right")]
    places = tracks["pose_xy"].sel(pose_point=names)
    size = np.array([tracks.attrs["width_px"], tracks.attrs["height_px"]])
    inside = ((places >= 0) & (places <= xr.DataArray(size, dims="space"))).all("space")
    return inside & (tracks["pose_visibility"].sel(pose_point=names) >= LEAST_VISIBILITY)


def in_view(tracks: xr.Dataset, *parts: str) -> Flags:
    """Tell for every frame whether both sides of all `parts` are in view; shape ``(time,)``."""
    return np.asarray(points_in_view(tracks, *parts).all("pose_point").values)


def shoulder_turn_deg(tracks: xr.Dataset) -> npt.NDArray[np.float64]:
    """Return how far the shoulder line is turned out of the picture plane, 0 (front or back) to 90 deg (side).

    ``atan(|dz| / |dx|)`` of the model's guessed shoulder line in metres, smoothed over about two seconds because
    depth is the weakest of the model's guesses. Shape ``(time,)``, NaN where no pose was found.
    """
    world = tracks["pose_world"].astype(np.float64)
    line = world.sel(pose_point="left_shoulder", drop=True) - world.sel(pose_point="right_shoulder", drop=True)
    across = np.abs(line.sel(space3="x").values)
    turn = np.degrees(np.arctan2(np.abs(line.sel(space3="z").values), across))
    smooth = low_pass(tracks["time"].values, turn, _TURN_CUTOFF_HZ, max_gap_s=1.0)
    return np.where(np.isfinite(smooth), smooth, turn)


def standing_reasons(tracks: xr.Dataset) -> npt.NDArray[np.int8]:
    """Say for every frame why a person standing before the camera cannot be measured; `Reason.NONE` where one can.

    Asked in this order: looked at, somebody found, shoulders and hips in view, feet in view, seen from the front or
    the back.
    """
    turned = np.nan_to_num(shoulder_turn_deg(tracks)) > GREATEST_TURN_DEG
    conditions = [~in_view(tracks, "shoulder", "hip"), ~in_view(tracks, "ankle"), turned]
    reasons = [int(Reason.BODY_OUT_OF_VIEW), int(Reason.FEET_OUT_OF_VIEW), int(Reason.OBLIQUE_VIEW)]
    absent = why_absent(tracks, "pose", Reason.NOBODY_FOUND)
    return np.where(absent != Reason.NONE, absent, np.select(conditions, reasons, int(Reason.NONE))).astype(np.int8)


def body_height_px(tracks: xr.Dataset) -> npt.NDArray[np.float64]:
    """Return the standing height as it appears in the picture, px, from the eyes' middle to the ankles' middle.

    The distance is divided by `EYE_TO_ANKLE`; a bent or leaning body reads too short. Shape ``(time,)``.

    References
    ----------
    Drillis R., Contini R. (1966), Body segment parameters, as drawn in Winter D. A., Biomechanics and Motor
    Control of Human Movement (eye and ankle height from memory).
    """
    return np.asarray(distance(middle(tracks, "eye"), middle(tracks, "ankle")).values) / EYE_TO_ANKLE


def stance_width(tracks: xr.Dataset) -> xr.DataArray:
    """Distance between the ankles' centres in shoulder widths.

    ``|ankle_left - ankle_right| / |shoulder_left - shoulder_right|`` in the picture, less what the model is known to
    add (see `review.measures.learned`), never below 0. Shape ``(time,)``, unit 1. NaN where nobody was found,
    where shoulders or ankles are out of view and where the shoulder line is turned by more than 20 deg. Any rate
    serves.

    References
    ----------
    Common practice, no source.
    """
    ankles = distance(point(tracks, "left_ankle"), point(tracks, "right_ankle"))
    shoulders = distance(point(tracks, "left_shoulder"), point(tracks, "right_shoulder"))
    known = bias("stance_width")
    ratio = (ankles / shoulders.where(shoulders > 0) - known.offset) / known.scale
    return with_reasons(ratio.clip(min=0.0), standing_reasons(tracks), "1")


def stance_width_mm(tracks: xr.Dataset) -> xr.DataArray:
    """Distance between the ankles' centres in millimetres, with the person's height as the scale.

    The distance in the picture times ``height_mm / body_height_px`` (see `body_height_px`), less what the model adds
    between the ankles. Shape ``(time,)``, unit mm. NaN as in `stance_width`, and throughout (`Reason.NO_SCALE`)
    when the height is not known. Any rate serves.

    References
    ----------
    Common practice, no source.
    """
    height_mm = float(tracks.attrs["height_mm"])
    ankles = distance(point(tracks, "left_ankle"), point(tracks, "right_ankle"))
    known = bias("stance_width_mm")
    width = ((ankles / body_height_px(tracks) * height_mm - known.offset) / known.scale).clip(min=0.0)
    reasons = standing_reasons(tracks)
    if not np.isfinite(height_mm):
        reasons = np.full(reasons.shape, int(Reason.NO_SCALE), np.int8)
    return with_reasons(width, reasons, "mm")


def width_of_stretch(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return the median width in shoulder widths, with what the corrections leave uncertain in its interval."""
    return _median(trace, "stance_width")


def width_of_stretch_mm(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return the median width in mm; its interval holds the unsure proportion of eye to standing height."""
    return _median(trace, "stance_width_mm")


def _median(trace: xr.DataArray, key: str) -> tuple[Estimate, ...]:
    """Sum up a trace from which the bias is already taken: what is left of it goes into the interval."""
    known = trace.values[np.isfinite(trace.values)]
    if len(known) < _LEAST_FRAMES:
        return (unstated(trace),)
    left = bias(key)
    width = float(np.median(known))
    number = bounded(width, noise=median_error(known), offset=left.offset_sd, scale=left.scale_sd)
    return (stated(trace, number),)


def feet_together(trace: xr.DataArray) -> tuple[Event, ...]:
    """Return the stretches of at least half a second in which the feet stood together; peak is the narrowest ratio."""
    clock = trace["time"].values
    known = np.isfinite(trace.values)
    runs = runs_above(clock[known], -trace.values[known], -TOGETHER, min_s=_TOGETHER_MIN_S, max_step_s=1.0)
    narrowest = [float(trace.values[known][run.samples].min()) for run in runs]
    return tuple(
        Event("feet_together", Interval(max(0.0, run.onset_s), run.offset_s), peak=peak)
        for run, peak in zip(runs, narrowest, strict=True)
    )


def stance_drawn(tracks: xr.Dataset) -> tuple[Part, ...]:
    """Draw the line between the ankles, with the ratio as read, and the shoulders' line that is its unit."""
    ratio = np.asarray(stance_width(tracks).values, np.float64)
    ankles, shoulders = body(tracks, "left_ankle", "right_ankle"), body(tracks, "left_shoulder", "right_shoulder")
    return (
        Part(
            kind="line",
            words="ankle to ankle",
            stream="pose",
            places=ankles,
            reading=ratio,
            unit="shoulder widths",
        ),
        Part(kind="line", words="shoulder to shoulder", stream="pose", places=shoulders),
    )


def stance_mm_drawn(tracks: xr.Dataset) -> tuple[Part, ...]:
    """Draw the line between the ankles, with its length, and the line from eyes to ankles that gives the scale."""
    width = np.asarray(stance_width_mm(tracks).values, np.float64)
    ankles = body(tracks, "left_ankle", "right_ankle")
    height = body(tracks, both("eye"), both("ankle"))
    return (
        Part(kind="line", words="ankle to ankle", stream="pose", places=ankles, reading=width, unit="mm"),
        Part(kind="line", words="eyes to ankles, the scale", stream="pose", places=height),
    )


MEASURES = (
    Measure(
        name="stance_width",
        title="Stance width (shoulder widths)",
        trace=stance_width,
        summarise=width_of_stretch,
        events=feet_together,
        unit="1",
        unit_words="shoulder widths",
        construction=stance_drawn,
        needs=(Need("pose", 5.0),),
        level=True,
        reference="common practice, no source",
    ),
    Measure(
        name="stance_width_mm",
        title="Stance width (mm)",
        trace=stance_width_mm,
        summarise=width_of_stretch_mm,
        unit="mm",
        construction=stance_mm_drawn,
        needs=(Need("pose", 5.0),),
        level=True,
        reference="common practice, no source",
    ),
)
