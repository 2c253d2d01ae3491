"""Head stillness: how far the head turned, nodded and tilted away from its own rest."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.construction import Part
from review.domain.measure import Measure, Need, with_reasons
from review.domain.model import Estimate, Event, Interval, Reason, Side
from review.measures.drawn import eye_line, facing
from review.measures.face_view import face_reasons, looked_at, shares
from review.signals.estimates import stated, unstated
from review.signals.filtering import low_pass
from review.signals.runs import runs_above
from review.signals.uncertainty import Bounded

Series = npt.NDArray[np.float64]

STILL_DEG: Final = 5.0
"""Within this of rest, in all three angles, the head counts as still."""

MOVED_DEG: Final = 10.0
"""Beyond this of rest the head has turned, tilted, been raised or lowered."""

MIN_FACE_PX: Final = 45.0
MAX_YAW_DEG: Final = 45.0

_ANGLES = ("yaw", "pitch", "roll")
_WAYS: Final[dict[Side, int]] = {"left": 1, "right": -1}
_MODEL_ERROR_DEG = {"yaw": 2.0, "pitch": 3.0, "roll": 1.4}
_SCALE_ERROR = {"yaw": 0.05, "pitch": 0.10, "roll": 0.05}
_EXPRESSION_DEG = 5.0
_FULL_SIZE_PX = 100.0
_MOST_DEG = 90.0
_EDGE_YAW_DEG = 30.0

_REST_WIDTH_DEG = 2.0
_REST_PRIOR_DEG = 20.0
_CUTOFF_HZ = 5.0
_HOLE_S = 0.5
_SHORT_S = 0.2
_LEAST_FRAMES = 5


def resting_angle(angles: npt.ArrayLike, facing_deg: float = float("inf")) -> float:
    """Return the angle that the head keeps longest.

    The place where the density of the samples is highest: a Gaussian kernel of 2 deg, each sample weighted by
    ``exp(-(angle / facing_deg)**2 / 2)``, so that a head held to one side for long is not taken for rest.

    Parameters
    ----------
    angles
        Samples in deg, shape ``(time,)``; NaN is left out.
    facing_deg
        Spread of the angles at which people rest; infinite gives every sample the same weight.

    Returns
    -------
    float
        Angle in deg; NaN when there is no sample.

    Examples
    --------
    >>> round(resting_angle([0.0, 1.0, 2.0, 30.0, 31.0]), 1)
    1.0
    """
    samples = np.asarray(angles, dtype=np.float64)
    samples = samples[np.isfinite(samples)]
    if len(samples) == 0:
        return float("nan")
    weight = np.exp(-0.5 * (samples / facing_deg) ** 2)
    grid = np.arange(samples.min(), samples.max() + 0.1, 0.1)
    counts, edges = np.histogram(samples, bins=np.append(grid, grid[-1] + 0.1) - 0.05, weights=weight)
    middles = (edges[:-1] + edges[1:]) / 2
    reach = np.arange(-60, 61) / 10
    density = np.convolve(counts, np.exp(-0.5 * (reach / _REST_WIDTH_DEG) ** 2), mode="full")[60 : 60 + len(counts)]
    return float(middles[int(np.argmax(density))])


def head_from_rest(tracks: xr.Dataset) -> xr.DataArray:
    """Turn, nod and tilt of the head away from its own rest, in deg.

    The head's angles towards the camera minus the angle kept longest in `tracks` (see `resting_angle`; for yaw and
    roll with a spread of 20 deg about facing the camera). Taking off the rest removes the model's constant offset
    and the height and direction of the camera; it also removes a posture held throughout.

    Parameters
    ----------
    tracks
        Landmark dataset; needs ``head_angle`` and ``face_width``. 15 frames a second.

    Returns
    -------
    DataArray
        Over ``time`` and ``angle``: yaw (+ to own left), pitch (+ up), roll (+ tilted to own left), unit "deg", with
        the coordinate ``reason``. NaN where the face was not looked at, not found, narrower than `MIN_FACE_PX` or
        turned further than `MAX_YAW_DEG` from the camera, and in the dark. The attribute ``face_width_px``
        is the median width of the face.

    References
    ----------
    Common practice, no source; 5 deg is this measure's own choice.
    """
    reason = face_reasons(tracks, MIN_FACE_PX, MAX_YAW_DEG)
    angles = tracks["head_angle"].sel(angle=list(_ANGLES)).astype(np.float64)
    seen = angles.values[reason == Reason.NONE]
    spread = {"yaw": _REST_PRIOR_DEG, "pitch": float("inf"), "roll": _REST_PRIOR_DEG}
    rest = np.array([resting_angle(seen[:, place], spread[name]) for place, name in enumerate(_ANGLES)])
    width = tracks["face_width"].values[reason == Reason.NONE]
    away = (angles - rest).assign_attrs(face_width_px=float(np.median(width)) if len(width) else float("nan"))
    return with_reasons(away, reason, "deg")


def still_share(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return the share of the usable time in which all three angles were within `STILL_DEG` of rest.

    Each frame counts for the time it stands for. The 95 % interval is what the share would be if every angle were
    off by the model's error (see `_model_error`) to the worse and to the better side, widened by one frame at either
    edge of every movement.
    """
    seen = looked_at(trace)
    known = np.isfinite(seen.values).all(axis=1)
    if known.sum() < _LEAST_FRAMES:
        return (unstated(trace),)
    weight = shares(seen["time"].values, _HOLE_S / 2)[known]
    away = np.abs(seen.values[known])
    error = np.array([_model_error(trace, name) for name in _ANGLES])

    def part(limit: Series) -> float:
        return float(weight[(away <= limit).all(axis=1)].sum() / weight.sum())

    limit = np.full(len(_ANGLES), STILL_DEG)
    moved = tuple(event.interval for event in head_events(trace))
    edges = 2 * len(moved) * float(np.median(np.diff(seen["time"].values)) / weight.sum())
    low, high = max(part(limit - error) - edges, 0.0), min(part(limit + error) + edges, 1.0)
    number = Bounded(part(limit), low, high)
    return (stated(trace, number, rests_on=moved),)


def yaw_extent(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return how far the head turned to its own left and to its own right, in deg (see `_sided_extent`)."""
    return _sided_extent(trace, "yaw")


def roll_extent(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return how far the head tilted to its own left and to its own right, in deg (see `_sided_extent`)."""
    return _sided_extent(trace, "roll")


def pitch_range(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return the range from the lowest to the highest nod, in deg.

    Of the angle smoothed at 5 Hz. 95 % interval: the model's error (see `_model_error`) at either end, 5 deg by
    which a smile or a squeeze of the face moves the reading, and a tenth of the range, added as independent errors.
    """
    seen, smooth = _smooth(trace, "pitch")
    if np.isfinite(smooth).sum() < _LEAST_FRAMES:
        return (unstated(trace),)
    value = float(np.nanmax(smooth) - np.nanmin(smooth))
    ends_deg = math.sqrt(2) * _model_error(trace, "pitch")
    error = math.hypot(ends_deg, _EXPRESSION_DEG, _SCALE_ERROR["pitch"] * value)
    ends = sorted((int(np.nanargmin(smooth)), int(np.nanargmax(smooth))))
    times = seen["time"].values
    evidence = tuple(Interval(float(times[end]), float(times[end])) for end in ends)
    number = Bounded(value, max(value - error, 0.0), value + error)
    return (stated(trace, number, rests_on=evidence),)


def _model_error(trace: xr.DataArray, angle: str) -> float:
    """Half width of the 95 % interval of one angle, deg.

    2 deg for yaw, 3 for pitch, 1.4 for roll on a face of at least 100 px; more on a smaller one, as
    ``sqrt(100 / width)``.
    """
    width = float(trace.attrs["face_width_px"])
    return _MODEL_ERROR_DEG[angle] * max(1.0, math.sqrt(_FULL_SIZE_PX / width))


def _sided_extent(trace: xr.DataArray, angle: str) -> tuple[Estimate, ...]:
    """Largest angle to each side, smoothed at 5 Hz; at least 0.

    95 % interval: the model's error (see `_model_error`) and a twentieth of the angle, added as independent errors.
    Where the head went out of what can be measured on a side, the upper end is 90 deg there.
    """
    seen, smooth = _smooth(trace, angle)
    times = seen["time"].values
    lost = _lost_sides(seen.sel(angle="yaw").values) if angle == "yaw" else set()
    if np.isfinite(smooth).sum() < _LEAST_FRAMES:
        return tuple(unstated(trace, side=side) for side in _WAYS)
    estimates = []
    for side, sign in _WAYS.items():
        place = int(np.nanargmax(sign * smooth))
        value = max(float(sign * smooth[place]), 0.0)
        error = float(np.hypot(_model_error(trace, angle), _SCALE_ERROR[angle] * value))
        high = _MOST_DEG if side in lost else value + error
        moment = Interval(float(times[place]), float(times[place]))
        number = Bounded(value, max(value - error, 0.0), high)
        estimates.append(stated(trace, number, rests_on=(moment,), side=side))
    return tuple(estimates)


def _smooth(trace: xr.DataArray, angle: str) -> tuple[xr.DataArray, Series]:
    seen = looked_at(trace)
    return seen, low_pass(seen["time"].values, seen.sel(angle=angle).values, _CUTOFF_HZ)


def _lost_sides(yaw: Series) -> set[Side]:
    """Sides on which the face was lost while the head was already turned far that way."""
    known = np.isfinite(yaw)
    edge = known & ~(np.append(known[1:], True) & np.insert(known[:-1], 0, True))
    return {"left" if angle > 0 else "right" for angle in yaw[edge] if abs(angle) > _EDGE_YAW_DEG}


def head_events(trace: xr.DataArray) -> tuple[Event, ...]:
    """List the times at which the head was further than `MOVED_DEG` from rest for at least 0.2 s.

    Parameters
    ----------
    trace
        As from `head_from_rest`.

    Returns
    -------
    tuple of Event
        In order of onset: "turned" and "tilted" with the examined person's own side, "raised", "lowered"; onset and
        offset where the angle crosses `MOVED_DEG`, ``peak`` the largest angle in deg, always positive.
    """
    found = [*turns(trace), *nods(trace), *tilts(trace)]
    return tuple(sorted(found, key=lambda event: event.interval))


def turns(trace: xr.DataArray) -> tuple[Event, ...]:
    """Return the events "turned" alone (see `head_events`)."""
    return _both_ways(trace, "yaw", ("turned", "left"), ("turned", "right"))


def nods(trace: xr.DataArray) -> tuple[Event, ...]:
    """Return the events "raised" and "lowered" alone (see `head_events`)."""
    return _both_ways(trace, "pitch", ("raised", None), ("lowered", None))


def tilts(trace: xr.DataArray) -> tuple[Event, ...]:
    """Return the events "tilted" alone (see `head_events`)."""
    return _both_ways(trace, "roll", ("tilted", "left"), ("tilted", "right"))


def _both_ways(
    trace: xr.DataArray, angle: str, positive: tuple[str, Side | None], negative: tuple[str, Side | None]
) -> tuple[Event, ...]:
    seen = looked_at(trace)
    times = seen["time"].values
    events = []
    for sign, (kind, side) in ((1, positive), (-1, negative)):
        towards = sign * seen.sel(angle=angle).values
        for run in runs_above(times, towards, MOVED_DEG, min_s=_SHORT_S, bridge_s=_SHORT_S, max_step_s=_HOLE_S):
            peak = float(np.nanmax(towards[run.samples]))
            events.append(Event(kind, Interval(run.onset_s, run.offset_s), side, peak))
    return tuple(sorted(events, key=lambda event: event.interval))


def _head_drawn(tracks: xr.Dataset, *angles: str) -> tuple[Part, ...]:
    away = np.abs(head_from_rest(tracks).sel(angle=list(angles)).values).max(axis=1)
    return (facing(tracks, np.asarray(away, np.float64), "deg from rest"), eye_line(tracks))


def head_drawn(tracks: xr.Dataset) -> tuple[Part, ...]:
    """Draw where the face looks and the line of the eyes, with the largest of the three angles from rest."""
    return _head_drawn(tracks, *_ANGLES)


def yaw_drawn(tracks: xr.Dataset) -> tuple[Part, ...]:
    """Draw where the face looks, with the turn from rest."""
    return _head_drawn(tracks, "yaw")


def pitch_drawn(tracks: xr.Dataset) -> tuple[Part, ...]:
    """Draw where the face looks, with the nod from rest."""
    return _head_drawn(tracks, "pitch")


def roll_drawn(tracks: xr.Dataset) -> tuple[Part, ...]:
    """Draw where the face looks and the line of the eyes, with the tilt from rest."""
    return _head_drawn(tracks, "roll")


_NEEDS = (Need("face", 15.0),)
_REFERENCE = "common practice, no source"

MEASURES = (
    Measure(
        name="head_stillness",
        title="Head still",
        trace=head_from_rest,
        summarise=still_share,
        events=head_events,
        unit="1",
        unit_words="% of the usable time within 5 deg of rest",
        construction=head_drawn,
        needs=_NEEDS,
        reference=_REFERENCE,
    ),
    Measure(
        name="head_yaw_range",
        title="Head turned to each side",
        trace=head_from_rest,
        summarise=yaw_extent,
        events=turns,
        unit="deg",
        construction=yaw_drawn,
        needs=_NEEDS,
        reference=_REFERENCE,
    ),
    Measure(
        name="head_pitch_range",
        title="Head nodding range",
        trace=head_from_rest,
        summarise=pitch_range,
        events=nods,
        unit="deg",
        construction=pitch_drawn,
        needs=_NEEDS,
        reference=_REFERENCE,
    ),
    Measure(
        name="head_roll_range",
        title="Head tilted to each side",
        trace=head_from_rest,
        summarise=roll_extent,
        events=tilts,
        unit="deg",
        construction=roll_drawn,
        needs=_NEEDS,
        reference=_REFERENCE,
    ),
)
