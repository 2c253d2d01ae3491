"""How far the corners of the mouth and the brows are from where this face has them at rest."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
import xarray as xr

from review.domain.model import Side
from review.measures.eye_closure import closed_by_eye
from review.measures.face_frame import across, head_angle, in_face, upward
from review.measures.own_rest import resting_value

Series = npt.NDArray[np.float64]

SIDES: Final[tuple[Side, Side]] = ("left", "right")

CORNERS: Final[dict[Side, int]] = {"left": 291, "right": 61}
BROWS: Final[dict[Side, tuple[int, ...]]] = {"left": (336, 296, 334), "right": (107, 66, 105)}
INNER_BROWS: Final[dict[Side, tuple[int, ...]]] = {"left": (285, 336), "right": (55, 107)}

_CORNER_DEPTH, _CHEEK_SLOPE, _CORNER_AT = 0.09, 0.5, 0.28
_BROW_DEPTH = 0.1
_REST_WIDTH = 0.01
_REST_WEIGHT = 0.05
_ACTIVE = 0.2
_USUAL_WAY = np.array([0.64, 0.77])
_HEIGHT_SHARE = 0.7
_LEAST_WAY = 0.03


@dataclass(frozen=True, slots=True)
class Excursions:
    """Ways from rest in distances of the outer eye corners, each of shape ``(time,)``.

    Attributes
    ----------
    smile
        Corner of the mouth of each side, along the way both corners take at the height of the movement.
    brow
        Brow of each side, upwards.
    inner_brow
        Inner ends of the brows, upwards.
    brow_gap, mouth_width
        Distance of the brows' inner ends and of the corners of the mouth.
    closed
        How far the eye that is less shut is shut, 0 to 1; not from rest.
    weights
        Expression weights by name, from rest.
    """

    smile: dict[Side, Series]
    brow: dict[Side, Series]
    inner_brow: Series
    brow_gap: Series
    mouth_width: Series
    closed: Series
    weights: dict[str, Series]


def excursions(tracks: xr.Dataset, usable: npt.NDArray[np.bool_]) -> Excursions:
    """Return how far the parts of the face are from rest; NaN where a frame is not usable.

    Places are taken in the face's own frame (`review.measures.face_frame.in_face`) and put right for turn and nod
    by how far before the eyes they lie: brows 0.1, corners of the mouth 0.09 eye distances, the cheek going back by
    half of what it goes outwards. Rest: `review.measures.own_rest.resting_value`, where frames with a smile, an open
    jaw or shut eyes by the expression weights are unlikely to show rest.
    """
    times = tracks["time"].values
    weights = {
        str(name): tracks["blendshape"].sel(shape=name).values.astype(np.float64) for name in tracks["shape"].values
    }
    closed = closed_by_eye(tracks).min("side", skipna=False).values
    likely = _likely_rest(weights, closed)

    def from_rest(values: Series, width: float = _REST_WIDTH) -> Series:
        kept = np.where(usable, values, np.nan)
        return kept - resting_value(times, kept, width, likely)

    corners = {side: _corner(tracks, side) for side in SIDES}
    ways = {side: np.stack([from_rest(axis) for axis in corners[side]], axis=1) for side in SIDES}
    inner = {side: in_face(tracks, INNER_BROWS[side]) for side in SIDES}
    heights = [_brow_height(tracks, INNER_BROWS[side]) for side in SIDES]
    return Excursions(
        smile=_along_common_way(ways),
        brow={side: from_rest(_brow_height(tracks, BROWS[side])) for side in SIDES},
        inner_brow=from_rest(np.mean(heights, axis=0)),
        brow_gap=from_rest(inner["left"][:, 0] - inner["right"][:, 0]),
        mouth_width=ways["left"][:, 0] + ways["right"][:, 0],
        closed=np.where(usable, closed, np.nan),
        weights={name: from_rest(values, _REST_WEIGHT) for name, values in weights.items()},
    )


def _likely_rest(weights: dict[str, Series], closed: Series) -> Series:
    smile = (weights["mouthSmileLeft"] + weights["mouthSmileRight"]) / 2
    active = smile + weights["jawOpen"] + np.clip(np.nan_to_num(closed) - 0.5, 0, None)
    return np.asarray(np.exp(-0.5 * (np.nan_to_num(active) / _ACTIVE) ** 2))


def _corner(tracks: xr.Dataset, side: Side) -> tuple[Series, Series]:
    """Place of a corner of the mouth: outwards and upwards."""
    sign = 1 if side == "left" else -1
    seen = in_face(tracks, (CORNERS[side],))
    depth = _CORNER_DEPTH + _CHEEK_SLOPE * _CORNER_AT
    out = across(sign * seen[:, 0], sign * head_angle(tracks, "yaw"), depth, _CHEEK_SLOPE)
    return out, upward(seen[:, 1], head_angle(tracks, "pitch"), _CORNER_DEPTH)


def _brow_height(tracks: xr.Dataset, points: tuple[int, ...]) -> Series:
    return upward(in_face(tracks, points)[:, 1], head_angle(tracks, "pitch"), _BROW_DEPTH)


def _along_common_way(ways: dict[Side, Series]) -> dict[Side, Series]:
    """Measure both corners along the way that both together take at the height of a smile."""
    both = (ways["left"] + ways["right"]) / 2
    usual = both @ _USUAL_WAY
    top = float(np.nanmax(usual)) if np.isfinite(usual).any() else 0.0
    way = _USUAL_WAY
    if top > _LEAST_WAY:
        way = np.nanmean(both[usual >= _HEIGHT_SHARE * top], axis=0)
        way = way / np.linalg.norm(way)
    return {side: ways[side] @ way for side in SIDES}
