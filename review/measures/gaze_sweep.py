"""Gaze sweep: which of the six cardinal positions the eyes reached and held, how far out, and how they got there."""

from __future__ import annotations

from itertools import pairwise
from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.construction import Part
from review.domain.measure import Measure, Need, with_reasons
from review.domain.model import Estimate, Event, Interval, Reason, Side
from review.measures.drawn import IRISES, face, joined
from review.measures.eye_closure import CLOSED, closed_by_eye
from review.measures.face_view import face_reasons, looked_at
from review.measures.gaze_positions import CARDINAL, Hold, Limits, centre_holds, holds
from review.measures.head_stillness import resting_angle
from review.signals.estimates import stated, unstated
from review.signals.filtering import spread_in_time
from review.signals.runs import true_runs
from review.signals.uncertainty import Bounded

Series = npt.NDArray[np.float64]

MIN_FACE_PX: Final = 150.0
MAX_YAW_DEG: Final = 15.0

SCALES: Final = {"shape_across": 29.7, "iris_across": 137.0, "shape_up": 60.0, "iris_up": 410.0}
"""Deg for each unit of the four readings, from straight lines through a rendered face's known gaze."""

_ZEROS = {"shape_across": 0.09, "iris_across": 0.006, "shape_up": -0.29, "iris_up": 0.036}
_IRIS_PER_YAW_DEG = 0.0038
_CENTRE_REACH_DEG = 8.0
_LID_MARGIN_S = 0.1

_SURE = Limits(sideways_deg=11.0, slack_deg=-2.0, hold_s=0.4)
_USUAL = Limits()
_POSSIBLE = Limits(sideways_deg=5.0, slack_deg=2.0, hold_s=0.25)
_UNSEEN_S = 0.4
_LEAST_SECONDS = 0.4

_JUMP_DEG_PER_S = 60.0
_SCALE_LOW, _SCALE_HIGH, _OFFSET_DEG = 0.75, 1.4, 3.0

_DRAWN_PER_DEG: Final = 0.02

_IRISES: Final[dict[Side, tuple[int, int, int]]] = {"left": (473, 362, 263), "right": (468, 33, 133)}


def iris_offset(iris: npt.ArrayLike, start: npt.ArrayLike, end: npt.ArrayLike) -> Series:
    """Return where the iris lies between the corners of its eye, in widths of the eye.

    Parameters
    ----------
    iris, start, end
        Iris centre and the two corners in the picture (y down), ``start`` the corner towards the person's own
        right; shape ``(time, 2)``, any unit of length. NaN makes the offset NaN.

    Returns
    -------
    ndarray
        Shape ``(time, 2)``: along the line of the corners from their middle (+ to own left), and across it (+ up).
        Tilting the head does not change it.

    Examples
    --------
    >>> iris_offset([[12.0, -1.0]], [[0.0, 0.0]], [[20.0, 0.0]])
    array([[0.1 , 0.05]])
    """
    corner, other, centre = (np.asarray(points, dtype=np.float64) for points in (start, end, iris))
    line = other - corner
    width = np.linalg.norm(line, axis=1, keepdims=True)
    along = line / width
    up = np.stack([along[:, 1], -along[:, 0]], axis=1)
    away = (centre - (corner + other) / 2) / width
    return np.stack([(away * along).sum(axis=1), (away * up).sum(axis=1)], axis=1)


def gaze_in_head(tracks: xr.Dataset) -> xr.DataArray:
    """Direction of the eyes in the head, from the person's own centre, in deg.

    Horizontal: the mean of two readings, ``29.7 x`` the mean over both eyes of the face model's look-left minus
    look-right weights, and ``137 x`` the mean offset of the irises between the eye corners in eye widths, less 0.0038
    for each deg of head yaw. Vertical: ``60 x`` the mean look-up minus look-down weight, and ``410 x`` the mean offset
    of the irises across the line of the corners. Zero is the person's own centre: the horizontal gaze kept longest
    within 8 deg of the model's zero, and the vertical gaze kept longest there. Being readings of the eye within
    its own corners they do not follow the head: turning it alone leaves them near 0.

    The scale comes from one rendered face whose eyeballs are a third larger than people's: real angles are
    between 0.75 and 1.4 times these. Positions are told by order and comparison, not by absolute degrees.

    Parameters
    ----------
    tracks
        Landmark dataset; needs all face variables, 30 frames a second.

    Returns
    -------
    DataArray
        Over ``time`` and ``direction`` (horizontal, + own left; vertical, + up), unit "deg", with the coordinate
        ``reason``. NaN where the face was not looked at or not found, is narrower than `MIN_FACE_PX`, turned
        further than `MAX_YAW_DEG`, the picture is as dark as in `closed_by_eye`, or an eye is closed within 0.1 s
        (`Reason.EYES_CLOSED`).

    References
    ----------
    Common practice, no source; iris landmarks alone "do not infer the location at which people are looking"
    (Vakunov A, Lagun D (2020), Google Research blog).
    """
    reason = face_reasons(tracks, MIN_FACE_PX, MAX_YAW_DEG)
    shut = (closed_by_eye(tracks).values > CLOSED).any(axis=1)
    reason[(reason == Reason.NONE) & spread_in_time(tracks["time"].values, shut, _LID_MARGIN_S)] = Reason.EYES_CLOSED
    gaze = _readings(tracks)
    gaze = gaze - _own_centre(gaze[reason == Reason.NONE])
    trace = xr.DataArray(
        gaze, dims=("time", "direction"), coords={"time": tracks["time"], "direction": ["horizontal", "vertical"]}
    )
    return with_reasons(trace, reason, "deg")


def _readings(tracks: xr.Dataset) -> Series:
    def weight(*names: str) -> Series:
        return np.asarray(tracks["blendshape"].sel(shape=list(names)).mean("shape"), dtype=np.float64)

    def place(point: int) -> Series:
        return np.asarray(tracks["face_xy"].sel(face_point=point).values, dtype=np.float64)

    yaw = tracks["head_angle"].sel(angle="yaw").values.astype(np.float64)
    iris = np.mean([iris_offset(*(place(point) for point in points)) for points in _IRISES.values()], axis=0)
    readings = {
        "shape_across": weight("eyeLookOutLeft", "eyeLookInRight") - weight("eyeLookInLeft", "eyeLookOutRight"),
        "iris_across": iris[:, 0] - _IRIS_PER_YAW_DEG * yaw,
        "shape_up": weight("eyeLookUpLeft", "eyeLookUpRight") - weight("eyeLookDownLeft", "eyeLookDownRight"),
        "iris_up": iris[:, 1],
    }
    deg = {name: SCALES[name] * (values - _ZEROS[name]) for name, values in readings.items()}
    across = (deg["shape_across"] + deg["iris_across"]) / 2
    return np.stack([across, (deg["shape_up"] + deg["iris_up"]) / 2], axis=1)


def _own_centre(gaze: Series) -> Series:
    ahead = gaze[np.abs(gaze[:, 0]) <= _CENTRE_REACH_DEG]
    if len(ahead) == 0:
        return np.zeros(2)
    return np.array([resting_angle(ahead[:, 0]), resting_angle(ahead[:, 1])])


def positions_reached(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return how many of the six cardinal positions were held for at least 0.4 s.

    The low end of the 95 % interval counts those that stay with the sideways threshold raised from 8 to 11 deg and
    the vertical bands narrowed by 2 deg; the high end those that appear with 5 deg, bands widened by 2 deg and holds
    of 0.25 s. Where 0.4 s or more could not be judged for another reason than shut eyes, any position may have been
    missed and the high end is 6.
    """
    seen = looked_at(trace)
    times, gaze = seen["time"].values, seen.values
    known = np.isfinite(gaze).all(axis=1)
    if len(times) < 2 or known.mean() * (times[-1] - times[0]) < _LEAST_SECONDS:
        return (unstated(trace),)
    held = holds(times, gaze, _USUAL)
    value = _count(held)
    low = min(_count(holds(times, gaze, _SURE)), value)
    high = max(_count(holds(times, gaze, _POSSIBLE)), value)
    hidden = ~known & (seen["reason"].values != Reason.EYES_CLOSED)
    if true_runs(times, hidden, _UNSEEN_S):
        high = len(CARDINAL)
    moments = tuple(_interval(hold) for hold in held)
    return (stated(trace, Bounded(float(value), float(low), float(high)), rests_on=moments),)


def _count(held: tuple[Hold, ...]) -> int:
    return len({hold.position for hold in held})


def gaze_extent(trace: xr.DataArray) -> tuple[Estimate, ...]:
    """Return how far out the eyes were held horizontally, to own left and to own right, in deg.

    The largest median horizontal gaze of the holds on a side; a side without a hold gives no value. The 95 % interval
    runs from 0.75 times that less 3 deg to 1.4 times that plus 3 deg, because the scale is not the person's own.
    """
    seen = looked_at(trace)
    held = holds(seen["time"].values, seen.values, _USUAL)
    sides: tuple[Side, ...] = ("left", "right")
    return tuple(_extent(trace, [hold for hold in held if hold.side == side], side) for side in sides)


def _extent(trace: xr.DataArray, held: list[Hold], side: Side) -> Estimate:
    if not held:
        return unstated(trace, Reason.NOT_SEEN, side=side)
    furthest = max(held, key=lambda hold: abs(hold.horizontal_deg))
    value = abs(furthest.horizontal_deg)
    low, high = max(_SCALE_LOW * value - _OFFSET_DEG, 0.0), _SCALE_HIGH * value + _OFFSET_DEG
    return stated(trace, Bounded(value, low, high), rests_on=(_interval(furthest),), side=side)


def gaze_events(trace: xr.DataArray) -> tuple[Event, ...]:
    """List the positions held and the moves between them, in order of onset; nothing when no position was held.

    Parameters
    ----------
    trace
        As from `gaze_in_head`.

    Returns
    -------
    tuple of Event
        Kind one of `CARDINAL` with its side, or "centre"; ``peak`` is how far out the eyes were held, deg. Between
        two of them, where every frame was seen: "jumped" when the eyes covered the way at more than 60 deg/s, twice
        what eyes can follow smoothly for long, else "smooth"; ``peak`` is how far apart the two places are at which
        the eyes dwelt (medians), deg. A way of many small jumps cannot be told from a smooth one.
    """
    seen = looked_at(trace)
    times, gaze = seen["time"].values, seen.values
    held = holds(times, gaze, _USUAL)
    if not held:
        return ()
    stops = sorted([*held, *centre_holds(times, gaze, _USUAL)], key=lambda hold: hold.run)
    events = [
        Event(hold.position, _interval(hold), hold.side, float(np.hypot(hold.horizontal_deg, hold.vertical_deg)))
        for hold in stops
    ]
    moves = [_move(gaze, before, after) for before, after in pairwise(stops)]
    return tuple(sorted([*events, *(move for move in moves if move)], key=lambda event: event.interval))


def _move(gaze: Series, before: Hold, after: Hold) -> Event | None:
    way = gaze[before.run.last : after.run.first + 1]
    lasted = after.run.onset_s - before.run.offset_s
    if lasted <= 0 or not np.isfinite(way).all():
        return None
    kind = "jumped" if float(np.hypot(*(way[-1] - way[0]))) > _JUMP_DEG_PER_S * lasted else "smooth"
    apart = np.nanmedian(gaze[after.run.samples], axis=0) - np.nanmedian(gaze[before.run.samples], axis=0)
    return Event(kind, Interval(before.run.offset_s, after.run.onset_s), None, float(np.hypot(*apart)))


def _interval(hold: Hold) -> Interval:
    return Interval(hold.run.onset_s, hold.run.offset_s)


def gaze_drawn(tracks: xr.Dataset) -> tuple[Part, ...]:
    """Draw the line of each eye's corners, the iris between them, and an arrow to where the eyes look in the head.

    The arrow begins at the middle of the iris and is 0.02 distances of the outer eye corners long for each deg from
    the person's own centre, along the line of the eyes and across it; its reading is that angle.
    """
    gaze = np.asarray(gaze_in_head(tracks).values, np.float64)
    outer = face(tracks, 33, 263)
    line = outer[:, 1] - outer[:, 0]
    across = np.stack([line[:, 1], -line[:, 0]], axis=1)
    way = _DRAWN_PER_DEG * (gaze[:, :1] * line + gaze[:, 1:] * across)
    away = np.hypot(gaze[:, 0], gaze[:, 1])
    parts = []
    for side, (iris, start, end) in _IRISES.items():
        middle = face(tracks, iris)[:, 0]
        parts += [
            Part(kind="line", words="corners of the eye", stream="face", places=face(tracks, start, end)),
            Part(kind="ring", words="iris", stream="face", places=face(tracks, *IRISES[side])),
            Part(
                kind="arrow",
                words="gaze",
                stream="face",
                places=joined(middle, middle + way),
                reading=away if side == "right" else None,
                unit="deg from the centre",
            ),
        ]
    return tuple(parts)


MEASURES = (
    Measure(
        name="gaze_sweep",
        title="Gaze positions reached",
        trace=gaze_in_head,
        summarise=positions_reached,
        events=gaze_events,
        unit="1",
        unit_words="of 6 positions",
        parts=CARDINAL,
        construction=gaze_drawn,
        needs=(Need("face", 30.0),),
        curve="Gaze in the head",
        reference="common practice, no source",
    ),
    Measure(
        name="gaze_extent",
        title="Gaze held to each side",
        trace=gaze_in_head,
        summarise=gaze_extent,
        events=gaze_events,
        unit="deg",
        construction=gaze_drawn,
        needs=(Need("face", 30.0),),
        reference="common practice, no source",
    ),
)
