"""The head against the trunk: angles from the face model, from the body's points where the face is lost."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.tracks import found
from review.measures.face_frame import head_angle
from review.measures.own_rest import resting_value
from review.signals.filtering import fill_gaps, low_pass

Series = npt.NDArray[np.float64]

FACE_YAW_DEG: Final = 60.0
"""Up to this turn from the camera the face model's angles are believed alone."""

NO_FACE_YAW_DEG: Final = 75.0
"""From this turn on the body's points alone are believed; between the two, both, in even proportion."""

VISIBLE: Final = 0.5

_GAP_S = 0.25
_UPRIGHT_DEG = 15.0
_OVERLAP_DEG = 10.0
_LEAST_OVERLAP = 8
_DEPTHS = np.arange(0.8, 3.01, 0.1)
_USUAL_DEPTH = 1.6
_UNKNOWN_ERROR_DEG = 6.0
_BEYOND_DEG = 50.0
_BEYOND_SHARE = 0.3
_TAKEN_SHARE = 0.5
_GUESS_SHARE = 0.25
_FRONT_DEG = 5.0
_TRUNK_HZ = 2.0
_TRUNK_STILL_DEG, _TRUNK_TURNED_DEG = 5.0, 10.0
_REST_DEG = 3.0
_REST_WIDTH_SHARE = 0.02


@dataclass(frozen=True, slots=True)
class Posture:
    """Angles of head and trunk in every frame, deg.

    Attributes
    ----------
    yaw, pitch, roll
        Head towards the camera: + to own left, + up, + tilted to own left; shape ``(time,)``, NaN where unknown.
    far
        Where they come from the body's points.
    unsure, turn_unsure
        Standard deviation of the head's angles for a far turn, and of the trunk's turn.
    turn, lean
        Trunk, from its own rest: + turned to own left, + leaning to own left; NaN where the shoulders are not seen.
    """

    yaw: Series
    pitch: Series
    roll: Series
    far: npt.NDArray[np.bool_]
    unsure: Series
    turn: Series
    turn_unsure: Series
    lean: Series


def posture(tracks: xr.Dataset) -> Posture:
    """Tell how head and trunk are held in every frame.

    Head: the angles of the face model where a face was found that is turned no further than `FACE_YAW_DEG`; from
    there on more and more, from `NO_FACE_YAW_DEG` on alone, and where no face was found, those of the body. There
    yaw is ``atan2(n / k, e)``, where ``n`` is the way of the nose from the middle of the ears and ``e`` half the way
    between the ears, both along the shoulders' line in the picture, and ``k`` (how far the nose lies before the ears,
    in half head widths) is the one that fits this film's own face angles best, 1.6 where the head hardly turns; pitch
    is ``asin(h / (k e0))`` of the nose's height over the ears with ``e`` at rest. Both are shifted to agree with the
    face model where both are known.

    Trunk: lean is the tilt of the shoulders' line in the picture. Turn is what two readings agree on, the smaller
    of them: the turn of the shoulders' line in the pose model's guess at depth, which follows the head along
    by itself (a rendered head turned by 30 deg over still shoulders moved it by 5 to 15 deg), and
    ``acos(cos(r) width / width at rest) - r`` of the shoulders in the picture, which hardly does; ``r`` is the head's
    yaw at rest, from which side the camera sees the trunk. Both below 2 Hz; nothing where they are of unlike sign. Up
    to 5 deg this counts as still, from 10 deg on it counts whole, evenly more between. A quarter of the guess, and
    half of what counts, is left as the standard deviation of the turn: still shoulders and those that turn by 20 deg
    may look alike.

    The standard deviation of the head's angles is 0.3 of what the turn is beyond 50 deg, since the models read far
    turns as too small; where the body's points tell them it joins how far yaw differs between body and face in this
    film (6 deg where they cannot be compared).
    """
    times = tracks["time"].values
    axes, lean, width = _shoulders(tracks)
    face = {name: np.where(_face_seen(tracks), head_angle(tracks, name), np.nan) for name in ("yaw", "pitch", "roll")}
    yaw, pitch, error = _by_body(tracks, axes, face)
    known, rest = np.isfinite(yaw), resting_value(times, face["yaw"], _REST_DEG)
    turn, turn_unsure = _turn(tracks, width, rest)
    body = np.clip((np.abs(face["yaw"]) - FACE_YAW_DEG) / (NO_FACE_YAW_DEG - FACE_YAW_DEG), 0.0, 1.0)
    body = np.where(known, np.nan_to_num(body, nan=1.0), np.where(body == 0, 0.0, np.nan))
    mixed, far = _mixed(face["yaw"], yaw, body), body > 0
    beyond = _BEYOND_SHARE * np.clip(np.abs(np.nan_to_num(mixed)) - _BEYOND_DEG, 0.0, None)
    return Posture(
        yaw=mixed,
        pitch=_mixed(face["pitch"], pitch, body),
        roll=np.where(body < 1, face["roll"], np.nan),
        far=far,
        unsure=np.hypot(np.where(far, error, 0.0), beyond),
        turn=turn,
        turn_unsure=turn_unsure,
        lean=lean - resting_value(times, lean, _REST_DEG),
    )


def _mixed(face: Series, body: Series, share: Series) -> Series:
    mixed = (1 - share) * np.nan_to_num(face) + share * np.nan_to_num(body)
    return np.asarray(np.where(np.isfinite(face) | (share == 1), mixed, np.nan))


def _face_seen(tracks: xr.Dataset) -> npt.NDArray[np.bool_]:
    return found(tracks, "face")


def _body(tracks: xr.Dataset, name: str, variable: str = "pose_xy") -> Series:
    """Return a body point where it can be seen, and between the frames looked at; shape ``(time, space)``."""
    seen = found(tracks, "pose") & (tracks["pose_visibility"].sel(pose_point=name).values > VISIBLE)
    places = tracks[variable].sel(pose_point=name).values.astype(np.float64)
    places = np.where(seen[:, None], places, np.nan)
    times = tracks["time"].values
    return np.stack([fill_gaps(times, places[:, axis], _GAP_S) for axis in range(places.shape[1])], axis=1)


def _shoulders(tracks: xr.Dataset) -> tuple[Series, Series, Series]:
    """Direction of the shoulders' line (``(1, 0)`` where unseen), its tilt in deg, its length in px."""
    line = _body(tracks, "left_shoulder") - _body(tracks, "right_shoulder")
    width = np.hypot(line[:, 0], line[:, 1])
    lean = np.degrees(np.arctan2(line[:, 1], line[:, 0]))
    unseen = ~np.isfinite(width) | (width == 0)
    axes = np.where(unseen[:, None], (1.0, 0.0), line / np.where(unseen, 1.0, width)[:, None])
    return axes, lean, width


def _turn(tracks: xr.Dataset, width: Series, rest_deg: float) -> tuple[Series, Series]:
    times = tracks["time"].values
    line = _body(tracks, "left_shoulder", "pose_world") - _body(tracks, "right_shoulder", "pose_world")
    guess = low_pass(times, np.degrees(np.arctan2(line[:, 2], line[:, 0])), _TRUNK_HZ)
    guess = guess - resting_value(times, guess, _REST_DEG)
    smooth = low_pass(times, width, _TRUNK_HZ)
    own = resting_value(times, smooth, _REST_WIDTH_SHARE * (np.nanmedian(width) if np.isfinite(width).any() else 1.0))
    side = 1.0 if abs(rest_deg) < _FRONT_DEG or not np.isfinite(rest_deg) else np.sign(rest_deg)
    aslant = abs(rest_deg) if np.isfinite(rest_deg) else 0.0
    shown = side * (np.degrees(np.arccos(np.clip(np.cos(np.radians(aslant)) * smooth / own, 0.0, 1.0))) - aslant)
    shown = np.where(aslant < _FRONT_DEG, np.sign(guess) * np.abs(shown), shown)
    size = np.where(np.sign(shown) == np.sign(guess), np.minimum(np.abs(guess), np.abs(shown)), 0.0)
    sure = np.clip((size - _TRUNK_STILL_DEG) / (_TRUNK_TURNED_DEG - _TRUNK_STILL_DEG), 0.0, 1.0)
    known = np.where(np.isfinite(guess) & np.isfinite(shown), 1.0, np.nan)
    turn = np.sign(guess) * size * sure * known
    return turn, np.nan_to_num(np.hypot(_GUESS_SHARE * guess, _TAKEN_SHARE * turn))


def _by_body(tracks: xr.Dataset, axes: Series, face: dict[str, Series]) -> tuple[Series, Series, float]:
    left, right, nose = (_body(tracks, name) for name in ("left_ear", "right_ear", "nose"))
    ears, ahead = (left - right) / 2, nose - (left + right) / 2
    half = (ears * axes).sum(axis=1)
    along, up = (ahead * axes).sum(axis=1), ahead[:, 0] * axes[:, 1] - ahead[:, 1] * axes[:, 0]
    both = np.isfinite(along) & np.isfinite(face["yaw"]) & (np.abs(face["roll"]) < _UPRIGHT_DEG)
    both &= np.abs(face["yaw"]) <= FACE_YAW_DEG
    depth = _depth(along, half, face["yaw"], both)
    yaw = np.degrees(np.arctan2(along / depth, half))
    yaw, error = _agreeing(yaw, face["yaw"], both)
    ahead_px = depth * resting_value(tracks["time"].values, half, 1.0)
    pitch, _ = _agreeing(np.degrees(np.arcsin(np.clip(up / ahead_px, -1.0, 1.0))), face["pitch"], both)
    return yaw, pitch, error


def _depth(along: Series, half: Series, yaw: Series, both: npt.NDArray[np.bool_]) -> float:
    if both.sum() < _LEAST_OVERLAP or np.ptp(yaw[both]) < 2 * _OVERLAP_DEG:
        return _USUAL_DEPTH
    apart = [float(np.std(np.degrees(np.arctan2(along[both] / depth, half[both])) - yaw[both])) for depth in _DEPTHS]
    return float(_DEPTHS[int(np.argmin(apart))])


def _agreeing(angle: Series, known: Series, both: npt.NDArray[np.bool_]) -> tuple[Series, float]:
    """Shift an angle to agree with a known one; NaN where the two can nowhere be compared."""
    if both.sum() < _LEAST_OVERLAP:
        return np.full_like(angle, np.nan), _UNKNOWN_ERROR_DEG
    apart = known[both] - angle[both]
    shift = float(np.median(apart))
    return angle + shift, float(np.sqrt(np.mean((apart - shift) ** 2)))
