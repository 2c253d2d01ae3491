"""Inner angles of elbow, wrist, knee and ankle as they appear in the picture, and whether the picture can show them.

An angle in the picture is the joint's own only when the limb lies in the picture plane. Two signs tell when it does
not: the model's guessed depth of the limb, and the apparent length of one part of the limb against the other, which
are nearly the same share of the height in everybody.

The body's model lags behind a quick hand and shows half of its way; where the hand model finds the hand, its points
stand for wrist and knuckles.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.construction import Part
from review.domain.measure import with_reasons
from review.domain.model import Reason, Side
from review.domain.tracks import why_absent
from review.measures.drawn import body
from review.measures.limb_hands import KNUCKLES, LEAST_SHARE, WRIST_POINT, hand_at_wrist
from review.measures.stance_width import LEAST_VISIBILITY, point
from review.signals.filtering import low_pass
from review.signals.geometry import angle_deg, distance, midpoint, unfolded_deg

Series = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

SIDES: Final[tuple[Side, Side]] = ("left", "right")

GREATEST_TILT_DEG: Final = 38.0
"""A part of the limb that the model tilts further than this out of the picture plane makes the view oblique."""

LEAST_LENGTH: Final = 0.62
"""A part of the limb that looks shorter than this share of its usual length beside the other is foreshortened."""

_VIEW_CUTOFF_HZ = 0.5
_HIDDEN_NEAR = 0.5
_HIDDEN_LESS = 0.1
_STANDING_KNEE_DEG = 150.0
_STANDING_THIGH = 0.85


@dataclass(frozen=True, slots=True)
class Joint:
    """Three body points whose middle one is the joint.

    Parameters
    ----------
    near, vertex, far
        Parts of the body as in `review.domain.tracks.POSE_POINTS` without their side; several names joined by a plus
        stand for the middle between them.
    proportion
        Usual length from joint to `far` in lengths from joint to `near`.
    leg
        Whether the person must not be standing on it.
    hand_far
        Points of the hand model that stand for `far` in the picture; none for a joint without a hand.
    hand_vertex
        Points of the hand model that stand for the joint itself.
    """

    near: str
    vertex: str
    far: str
    proportion: float
    leg: bool = False
    hand_far: tuple[int, ...] = ()
    hand_vertex: tuple[int, ...] = ()

    @property
    def parts(self) -> tuple[str, str, str]:
        """The three points in order."""
        return self.near, self.vertex, self.far


ELBOW: Final = Joint("shoulder", "elbow", "wrist", 0.9, hand_far=WRIST_POINT)
WRIST: Final = Joint("elbow", "wrist", "index+pinky", 0.36, hand_far=KNUCKLES, hand_vertex=WRIST_POINT)
KNEE: Final = Joint("hip", "knee", "ankle", 1.0, leg=True)
ANKLE: Final = Joint("knee", "ankle", "foot_index", 0.44, leg=True)


def limb_angle(tracks: xr.Dataset, joint: Joint) -> xr.DataArray:
    """Inner angle of a joint in the picture, on both sides: 180 deg when straight, more when bent backwards.

    Parameters
    ----------
    tracks
        Landmark dataset; needs the pose, and hands for the arms.
    joint
        Which three points.

    Returns
    -------
    DataArray
        Over ``time`` and ``side``, deg. NaN where the limb is not seen, hidden behind the other one, seen obliquely,
        or stood upon. The coordinate ``apparent`` over time and side holds the angle also where the view is oblique:
        it tells that something moved, not how far; so does that of an elbow whose hand was not found, by the body's
        wrist. ``tilt`` over time and side is how far the limb is tilted out of the picture plane by the model's guess,
        deg. ``side_reason`` holds each side's own reason; ``reason`` is that of the side which can be seen better.

    References
    ----------
    Common practice, no source; usual lengths of limbs: Drillis and Contini 1966, in Winter, Biomechanics and Motor
    Control of Human Movement (from memory), set beside what the pose model made of rendered people.
    """
    sides = [_one_side(tracks, joint, side, other) for side, other in zip(SIDES, reversed(SIDES), strict=True)]
    apparent, tilt = (np.stack([one[place] for one in sides], axis=1) for place in (0, 1))
    codes = np.stack([reason for *_, reason in sides], axis=1)
    better = int(np.argmax([np.mean(reason == Reason.NONE) for *_, reason in sides]))
    common = np.where((codes == Reason.NONE).any(axis=1), int(Reason.NONE), codes[:, better])
    shown = np.where(codes == Reason.NONE, apparent, np.nan)
    coords = {"time": tracks["time"], "side": list(SIDES)}
    over = ("time", "side")
    trace = xr.DataArray(shown, dims=over, coords=coords).assign_coords(
        apparent=(over, apparent), tilt=(over, tilt), side_reason=(over, codes)
    )
    return with_reasons(trace, common, "deg")


def joint_drawn(tracks: xr.Dataset, joint: Joint) -> tuple[Part, ...]:
    """Draw the inner angle of a joint on both sides, with what is read of it, oblique views included."""
    trace = limb_angle(tracks, joint)
    return tuple(
        Part(
            kind="arc",
            words=f"{side} {joint.vertex}",
            stream="pose",
            places=_corners(tracks, joint, side),
            reading=np.asarray(trace["apparent"].sel(side=side).values, np.float64),
            unit="deg",
            side=side,
        )
        for side in SIDES
    )


def _corners(tracks: xr.Dataset, joint: Joint, side: Side) -> Series:
    """Return the three points, those of the hand where it is the hand that is read."""
    corners = body(tracks, *("+".join(f"{side}_{name}" for name in part.split("+")) for part in joint.parts))
    ends, handed = _ends(tracks, joint, side)
    if handed.any():
        corners[:, 2] = ends[2].values
    if joint.hand_vertex:
        corners[:, 1] = ends[1].values
    return corners


def of_side(trace: xr.DataArray, side: Side) -> xr.DataArray:
    """Return one side of a trace made by `limb_angle`, with that side's reasons."""
    one = trace.sel(side=side, drop=True)
    return one.assign_coords(reason=("time", one["side_reason"].values))


def _place(tracks: xr.Dataset, side: Side, part: str) -> xr.DataArray:
    names = part.split("+")
    first = point(tracks, f"{side}_{names[0]}")
    return first if len(names) == 1 else midpoint(first, point(tracks, f"{side}_{names[1]}"))


def _one_side(tracks: xr.Dataset, joint: Joint, side: Side, other: Side) -> tuple[Series, Series, npt.NDArray[np.int8]]:
    """Return apparent angle, tilt and reason in every frame."""
    ends, handed = _ends(tracks, joint, side)
    tilt = np.maximum(*(_steady(tracks, _tilt_deg(tracks, side, joint.vertex, end)) for end in (joint.near, joint.far)))
    conditions = [
        ~_seen(tracks, joint, side) | _hidden(tracks, joint, side, other),
        _stood_upon(tracks, side) if joint.leg else np.zeros(tracks.sizes["time"], bool),
        (tilt > GREATEST_TILT_DEG) | _foreshortened(tracks, joint, ends),
    ]
    reasons = [int(Reason.LIMB_OUT_OF_VIEW), int(Reason.POSTURE_NOT_HELD), int(Reason.OBLIQUE_VIEW)]
    absent = why_absent(tracks, "pose", Reason.NOBODY_FOUND)
    codes = np.select(conditions, reasons, int(Reason.NONE))
    if joint.hand_far:
        codes = np.where(codes == Reason.NONE, _handless(tracks, handed), codes)
    codes = np.where(absent != Reason.NONE, absent, codes)
    shown = np.isin(codes, (int(Reason.NONE), int(Reason.OBLIQUE_VIEW), int(Reason.HAND_NOT_FOUND)))
    return np.where(shown, unfolded_deg(*ends).values, np.nan), tilt, codes.astype(np.int8)


def _ends(tracks: xr.Dataset, joint: Joint, side: Side) -> tuple[list[xr.DataArray], Flags]:
    """Return the three points in the picture, and where the hand model gave its part; never two sources in one curve.

    A hand that is found too seldom gives nothing: then an elbow goes by the body's wrist, and a wrist has no points.
    """
    near, vertex, far = (_place(tracks, side, part) for part in (joint.near, joint.vertex, joint.far))
    handed = np.zeros(tracks.sizes["time"], bool)
    if joint.hand_far:
        hand = hand_at_wrist(tracks, side)
        seen = np.isfinite(hand[:, 0, 0])
        looked = why_absent(tracks, "hand", Reason.HAND_NOT_FOUND) != Reason.NOT_LOOKED
        if looked.any() and seen[looked].mean() >= LEAST_SHARE:
            handed = seen
            far = far.copy(data=hand[:, joint.hand_far].mean(axis=1))
        if joint.hand_vertex:
            vertex = vertex.copy(data=np.where(handed[:, None], hand[:, joint.hand_vertex].mean(axis=1), np.nan))
    return [near, vertex, far], handed


def _handless(tracks: xr.Dataset, handed: Flags) -> npt.NDArray[np.int8]:
    """Return why the hand says nothing, in frames in which it does not."""
    absent = why_absent(tracks, "hand", Reason.HAND_NOT_FOUND)
    return np.where(handed, int(Reason.NONE), np.where(absent == Reason.NONE, int(Reason.HAND_NOT_FOUND), absent))


def _names(joint: Joint, side: Side) -> list[str]:
    return [f"{side}_{part}" for parts in (joint.near, joint.vertex, joint.far) for part in parts.split("+")]


def _seen(tracks: xr.Dataset, joint: Joint, side: Side) -> Flags:
    """Whether all points of the limb lie inside the picture and are likely visible, the latter steadied over time."""
    names = _names(joint, side)
    size = xr.DataArray([tracks.attrs["width_px"], tracks.attrs["height_px"]], dims="space")
    places = tracks["pose_xy"].sel(pose_point=names)
    inside = ((places >= 0) & (places <= size)).all(("space", "pose_point"))
    least = tracks["pose_visibility"].sel(pose_point=names).min("pose_point").values
    return np.asarray(inside.values & (_steady(tracks, least) >= LEAST_VISIBILITY))


def _hidden(tracks: xr.Dataset, joint: Joint, side: Side, other: Side) -> Flags:
    """Whether the other limb covers this one: both joints at nearly the same place, this one less visible."""
    own, across = _place(tracks, side, joint.vertex), _place(tracks, other, joint.vertex)
    length = distance(own, _place(tracks, side, joint.near))
    apart = _steady(tracks, (distance(own, across) / length.where(length > 0)).values)
    visible = [
        _steady(tracks, tracks["pose_visibility"].sel(pose_point=_names(joint, which)).min("pose_point").values)
        for which in (side, other)
    ]
    return np.asarray((apart < _HIDDEN_NEAR) & (visible[0] < visible[1] - _HIDDEN_LESS))


def _foreshortened(tracks: xr.Dataset, joint: Joint, ends: list[xr.DataArray]) -> Flags:
    """Whether a part of the limb points out of the picture plane, by its apparent length beside the other."""
    near, vertex, far = ends
    share = (distance(far, vertex) / distance(near, vertex)).values / joint.proportion
    with np.errstate(divide="ignore"):
        short = np.minimum(share, 1 / share)
    return np.asarray(_steady(tracks, short) < LEAST_LENGTH)


def _tilt_deg(tracks: xr.Dataset, side: Side, start: str, end: str) -> Series:
    """How far a part of the limb is tilted out of the picture plane by the model's guess, 0 to 90 deg."""
    world = tracks["pose_world"].astype(np.float64)
    ends = [
        world.sel(pose_point=[f"{side}_{name}" for name in part.split("+")]).mean("pose_point") for part in (start, end)
    ]
    line = ends[1] - ends[0]
    length = (line**2).sum("space3", skipna=False) ** 0.5
    return np.asarray(np.degrees(np.arcsin(np.abs(line.sel(space3="z").values) / length.where(length > 0).values)))


def _stood_upon(tracks: xr.Dataset, side: Side) -> Flags:
    """Whether the leg stands: knee nearly straight and the thigh upright in the picture."""
    hip, knee, ankle = (point(tracks, f"{side}_{part}") for part in ("hip", "knee", "ankle"))
    thigh = knee - hip
    down = (thigh.sel(space="y") / distance(hip, knee)).values
    return np.asarray((_steady(tracks, down) > _STANDING_THIGH) & (_steady_angle(tracks, hip, knee, ankle)))


def _steady_angle(tracks: xr.Dataset, hip: xr.DataArray, knee: xr.DataArray, ankle: xr.DataArray) -> Flags:
    return np.asarray(_steady(tracks, angle_deg(hip, knee, ankle).values) > _STANDING_KNEE_DEG)


def _steady(tracks: xr.Dataset, values: npt.ArrayLike) -> Series:
    """Smooth over about two seconds what only changes with the view; the median where that is too long."""
    raw = np.asarray(values, np.float64)
    known = raw[np.isfinite(raw)]
    smooth = low_pass(tracks["time"].values, raw, _VIEW_CUTOFF_HZ, max_gap_s=1.0)
    middle = float(np.median(known)) if len(known) else np.nan
    return np.where(np.isfinite(raw), np.where(np.isfinite(smooth), smooth, middle), np.nan)
