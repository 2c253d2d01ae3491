"""How well the film shows what is to be measured: light, contrast, sharpness, size, framing, a still camera, frames.

Each is a measure of its own; the module `capture_faults` puts what is wrong into words.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.construction import Part
from review.domain.measure import Measure, Need, with_reasons
from review.domain.model import Estimate, Event, Interval, Reason
from review.domain.tracks import looked, why_absent
from review.measures.drawn import body, face
from review.measures.hand_over_face import OUTLINE
from review.measures.stance_width import points_in_view
from review.signals.estimates import stated, unstated
from review.signals.runs import true_runs
from review.signals.uncertainty import NORMAL_95, Bounded, effective_size

Series = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

DARK: Final = 0.2
GLARING: Final = 0.85
FLAT: Final = 0.08
BLURRED: Final = 20.0
MOVING_PERCENT_A_S: Final = 0.5
LOW_RATE_HZ: Final = 12.0
_GAP_S = 0.15
_GAP_FACTOR = 3.0
_EVENT_MIN_S = 0.4
_EVENT_BRIDGE_S = 1.0
_REFERENCE = "common practice, no source"


def _of_picture(tracks: xr.Dataset, name: str, units: str) -> xr.DataArray:
    reasons = np.where(looked(tracks, "picture"), int(Reason.NONE), int(Reason.NOT_LOOKED))
    return with_reasons(tracks[name].astype(np.float64), reasons, units)


def light(tracks: xr.Dataset) -> xr.DataArray:
    """Mean luma of the picture, from 0 (black) to 1 (white).

    Shape ``(time,)``, unit 1; NaN where the picture was not looked at. Any rate serves.

    References
    ----------
    Common practice, no source.
    """
    return _of_picture(tracks, "brightness", "1")


def contrast(tracks: xr.Dataset) -> xr.DataArray:
    """Spread (standard deviation) of luma over the picture, on the scale from 0 (black) to 1 (white).

    Small where a window shines into the lens or a haze lies on it, so that light and dark hardly differ; small in the
    dark too, so read it beside the light. Shape ``(time,)``, unit 1; NaN where the picture was not looked at. Any
    rate serves.

    References
    ----------
    Peli E. (1990), Contrast in complex images, J. Opt. Soc. Am. A 7:2032-2040: RMS contrast (from memory).
    """
    return _of_picture(tracks, "contrast", "1")


def sharpness(tracks: xr.Dataset) -> xr.DataArray:
    """Variance of the Laplacian of luma, on the picture scaled to one size.

    Small when edges are soft; noise in the dark raises it, so read it beside the light. Shape ``(time,)``, unit 1; NaN
    where the picture was not looked at. Any rate serves.

    References
    ----------
    Pech-Pacheco J. L. et al. (2000), Diatom autofocusing in brightfield microscopy: a comparative study, Proc. ICPR
    3:314-317 (from memory).
    """
    return _of_picture(tracks, "sharpness", "1")


def face_size(tracks: xr.Dataset) -> xr.DataArray:
    """Width of the face outline in the picture, px; NaN where no face was found. Shape ``(time,)``; any rate serves.

    References
    ----------
    Common practice, no source.
    """
    reasons = why_absent(tracks, "face", Reason.FACE_NOT_FOUND)
    return with_reasons(tracks["face_width"].astype(np.float64), reasons, "px")


def body_in_view(tracks: xr.Dataset) -> xr.DataArray:
    """Share of shoulders, hips, knees and ankles that lie inside the picture and are likely visible, 0 to 1.

    Shape ``(time,)``, unit 1; NaN where nobody was found. Any rate serves.

    References
    ----------
    Common practice, no source.
    """
    seen = points_in_view(tracks, "shoulder", "hip", "knee", "ankle")
    reasons = why_absent(tracks, "pose", Reason.NOBODY_FOUND)
    return with_reasons(seen.mean("pose_point").astype(np.float64), reasons, "1")


def camera_speed(tracks: xr.Dataset) -> xr.DataArray:
    """Speed at which the background moves through the picture, in percent of the picture's width a second.

    ``100 |shift| / width / (time since the look before)``. Shape ``(time,)``, unit %/s. NaN where the picture was not
    looked at, at the first look of a chunk, and where the background has nothing to hold on to
    (`Reason.NOT_SEEN`). Two looks a second are enough for a knocked or carried camera.

    References
    ----------
    Common practice, no source.
    """
    clock, seen = tracks["time"].values, looked(tracks, "picture")
    shift = np.hypot(*tracks["background_shift"].values.astype(np.float64).T)
    looks = np.flatnonzero(seen)
    speed = np.full(len(clock), np.nan)
    if len(looks) > 1:
        speed[looks[1:]] = 100 * shift[looks[1:]] / tracks.attrs["width_px"] / np.diff(clock[looks])
    reasons = np.select([~seen, ~np.isfinite(speed)], [int(Reason.NOT_LOOKED), int(Reason.NOT_SEEN)], int(Reason.NONE))
    return with_reasons(xr.DataArray(speed, dims="time", coords={"time": tracks["time"]}), reasons, "%/s")


def camera_moving(tracks: xr.Dataset) -> Flags:
    """Tell for every frame whether the camera moved between the looks on either side of it; shape ``(time,)``.

    Where the background cannot be followed the camera counts as still.
    """
    moved = np.nan_to_num(camera_speed(tracks).values) > MOVING_PERCENT_A_S
    looks = np.flatnonzero(looked(tracks, "picture"))
    moving = np.zeros(len(moved), dtype=bool)
    for before, now in pairwise(looks):
        if moved[now]:
            moving[before : now + 1] = True
    return moving


def camera_followed(tracks: xr.Dataset) -> float:
    """Return the share of looks at the picture, 0 to 1, at which the background told whether the camera moved.

    The first look has none before it to be set beside, and does not count; NaN without a second one.
    """
    told = np.isfinite(camera_speed(tracks).values[looked(tracks, "picture")])[1:]
    return float(told.mean()) if len(told) else np.nan


def frame_rate(tracks: xr.Dataset) -> xr.DataArray:
    """Frames a second at every frame: one over the time since the frame before (the first takes the second's).

    Shape ``(time,)``, unit Hz; NaN only when there is a single frame.

    References
    ----------
    Common practice, no source.
    """
    clock = tracks["time"].values
    steps = np.diff(clock)
    rate = np.full(len(clock), np.nan) if len(steps) == 0 else 1 / np.concatenate((steps[:1], steps))
    reason = Reason.NONE if len(steps) else Reason.TOO_FEW_FRAMES
    trace = xr.DataArray(rate, dims="time", coords={"time": tracks["time"]})
    return with_reasons(trace, np.full(len(clock), int(reason)), "Hz")


def typical(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return the median; its interval is that of the order statistics at the effective number of samples.

    References
    ----------
    Conover W. J. (1999), Practical Nonparametric Statistics, confidence interval for a quantile (from memory).
    """
    return _quantile(trace, 0.5)


def fastest(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return the 95th percentile, so that one knock does not hide behind a still minute; interval as in `typical`."""
    return _quantile(trace, 0.95)


def _quantile(trace: xr.DataArray, share: float) -> tuple[Estimate, ...]:
    known = trace.values[np.isfinite(trace.values)]
    if len(known) == 0:
        return (unstated(trace),)
    half = NORMAL_95 * np.sqrt(share * (1 - share) / effective_size(known))
    low, value, high = np.quantile(known, [max(0.0, share - half), share, min(1.0, share + half)])
    return (stated(trace, Bounded(float(value), float(low), float(high))),)


def frames_a_second(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return the frames a second over the stretch; frame times are exact, so the interval has no width."""
    if len(trace) < 2:
        return (unstated(trace),)
    clock = trace["time"].values
    rate = float((len(clock) - 1) / (clock[-1] - clock[0]))
    weak = (Reason.RATE_LOW,) if rate < LOW_RATE_HZ else ()
    gaps = (Reason.FRAME_GAP,) if frame_gaps(trace) else ()
    return (stated(trace, Bounded(rate, rate, rate), weak=weak + gaps),)


def frame_gaps(trace: xr.DataArray) -> tuple[Event, ...]:
    """Return the gaps between frames that are over 0.15 s and over three times the usual step; peak in Hz."""
    clock = trace["time"].values
    steps = np.diff(clock)
    if len(steps) == 0:
        return ()
    wide = np.flatnonzero((steps > _GAP_S) & (steps > _GAP_FACTOR * np.median(steps)))
    return tuple(
        Event("frame_gap", Interval(float(clock[i]), float(clock[i + 1])), peak=float(1 / steps[i])) for i in wide
    )


def stretches(trace: xr.DataArray, kind: str, faulty: Callable[[Series], Flags]) -> tuple[Event, ...]:
    """Return the stretches of at least 0.4 s in which the known values are `faulty`; peak is their median."""
    known = np.isfinite(trace.values)
    clock, values = trace["time"].values[known], trace.values[known]
    runs = true_runs(clock, faulty(values), min_s=_EVENT_MIN_S, bridge_s=_EVENT_BRIDGE_S)
    return tuple(
        Event(kind, Interval(run.onset_s, run.offset_s), peak=float(np.median(values[run.samples]))) for run in runs
    )


def bad_light(trace: xr.DataArray) -> tuple[Event, ...]:
    """Return the stretches that are too dark or too bright."""
    dark = stretches(trace, "too_dark", lambda values: values < DARK)
    return (*dark, *stretches(trace, "too_bright", lambda values: values > GLARING))


def flat(trace: xr.DataArray) -> tuple[Event, ...]:
    """Return the stretches in which light and dark hardly differ."""
    return stretches(trace, "flat", lambda values: values < FLAT)


def blurred(trace: xr.DataArray) -> tuple[Event, ...]:
    """Return the stretches that are blurred."""
    return stretches(trace, "blurred", lambda values: values < BLURRED)


def camera_moves(trace: xr.DataArray) -> tuple[Event, ...]:
    """Return the stretches in which the camera moved, from the look before each movement; peak in %/s."""
    seen = np.asarray(trace["reason"].values != int(Reason.NOT_LOOKED))
    clock, values = trace["time"].values[seen], np.nan_to_num(trace.values[seen])
    runs = true_runs(clock, values > MOVING_PERCENT_A_S, bridge_s=_EVENT_BRIDGE_S)
    return tuple(
        Event(
            "camera_moved",
            Interval(float(clock[max(0, run.first - 1)]), run.offset_s),
            peak=float(values[run.samples].max()),
        )
        for run in runs
    )


def face_drawn(tracks: xr.Dataset) -> tuple[Part, ...]:
    """Draw the outline of the face, with its width."""
    width = np.asarray(tracks["face_width"].values, np.float64)
    ring = face(tracks, *OUTLINE)
    return (Part(kind="ring", words="outline of the face", stream="face", places=ring, reading=width, unit="px"),)


def body_drawn(tracks: xr.Dataset) -> tuple[Part, ...]:
    """Draw the points from shoulders to ankles that count as in view."""
    names = [f"{side}_{part}" for part in ("shoulder", "hip", "knee", "ankle") for side in ("left", "right")]
    seen = points_in_view(tracks, "shoulder", "hip", "knee", "ankle").sel(pose_point=names).values
    places = np.where(seen[:, :, None], body(tracks, *names), np.nan)
    return (Part(kind="points", words="points in view", stream="pose", places=places),)


MEASURES = (
    Measure(
        name="capture_light",
        title="Light",
        trace=light,
        summarise=typical,
        events=bad_light,
        unit="1",
        unit_words="of full brightness",
        needs=(Need("picture", 2.0),),
        level=True,
        reference=_REFERENCE,
    ),
    Measure(
        name="capture_contrast",
        title="Contrast",
        trace=contrast,
        summarise=typical,
        events=flat,
        unit="1",
        unit_words="of full brightness (flat below 0.08)",
        needs=(Need("picture", 2.0),),
        level=True,
        reference="Peli 1990, J. Opt. Soc. Am. A 7:2032-2040",
    ),
    Measure(
        name="capture_sharpness",
        title="Sharpness",
        trace=sharpness,
        summarise=typical,
        events=blurred,
        unit="1",
        unit_words="(blurred below 20)",
        needs=(Need("picture", 2.0),),
        level=True,
        reference="Pech-Pacheco et al. 2000, Proc. ICPR 3:314-317",
    ),
    Measure(
        name="capture_face_size",
        title="Face width in the picture",
        trace=face_size,
        summarise=typical,
        unit="px",
        construction=face_drawn,
        needs=(Need("face", 2.0),),
        level=True,
        reference=_REFERENCE,
    ),
    Measure(
        name="capture_body_in_view",
        title="Body in the picture",
        trace=body_in_view,
        summarise=typical,
        unit="1",
        unit_words="% of shoulders to ankles",
        construction=body_drawn,
        needs=(Need("pose", 2.0),),
        level=True,
        reference=_REFERENCE,
    ),
    Measure(
        name="capture_camera_still",
        title="Camera movement",
        trace=camera_speed,
        summarise=fastest,
        events=camera_moves,
        unit="%/s",
        unit_words="percent of the picture's width a second",
        needs=(Need("picture", 5.0),),
        level=True,
        reference=_REFERENCE,
    ),
    Measure(
        name="capture_frame_rate",
        title="Frames a second",
        trace=frame_rate,
        summarise=frames_a_second,
        events=frame_gaps,
        unit="Hz",
        unit_words="frames a second",
        needs=(),
        level=True,
        reference=_REFERENCE,
    ),
)
