"""The same film otherwise: larger, shifted, in a mirror, with frames lost; as changes of its tracks."""

from __future__ import annotations

import numpy as np
import xarray as xr

from review.domain.tracks import BLENDSHAPES, FACE_POINTS, POSE_POINTS
from tests.synthetic_head import LIPS, RING

IN_PIXELS = ("pose_xy", "face_xy", "face_width", "hand_xy", "other_hand_xy", "background_shift")
PLACES = ("pose_xy", "face_xy", "hand_xy", "other_hand_xy")

_INNER_LIPS = (78, 95, 88, 178, 87, 14, 317, 402, 318, 324, 308, 415, 310, 311, 312, 13, 82, 81, 80, 191)
_EYES = (
    (33, 7, 163, 144, 145, 153, 154, 155, 133, 173, 157, 158, 159, 160, 161, 246),
    (263, 249, 390, 373, 374, 380, 381, 382, 362, 398, 384, 385, 386, 387, 388, 466),
)
_BROWS = ((70, 63, 105, 66, 107, 55, 65, 52, 53, 46), (300, 293, 334, 296, 336, 285, 295, 282, 283, 276))
_IRISES = ((468, 469, 470, 471, 472), (473, 476, 475, 474, 477))
_NOSE = ((45, 48, 64, 97, 98, 115, 220), (275, 278, 294, 326, 327, 344, 440))
_MIDDLE = (1, 2, 4, 5, 6, 19, 94, 168, 195, 197)


def _pairs() -> dict[int, int]:
    """Return for each face point that is kept the one on the other side of the face."""
    pairs = {point: point for point in _MIDDLE}
    pairs |= {one: RING[-place % len(RING)] for place, one in enumerate(RING)}
    for ring in (LIPS, _INNER_LIPS):
        half = len(ring) // 2
        pairs |= {one: ring[(half - place) % len(ring)] for place, one in enumerate(ring)}
    for right, left in (_EYES, _BROWS, _IRISES, _NOSE):
        pairs |= dict(zip(right, left, strict=True)) | dict(zip(left, right, strict=True))
    return pairs


OTHER_SIDE = _pairs()
assert set(OTHER_SIDE) == set(FACE_POINTS)
assert all(OTHER_SIDE[OTHER_SIDE[point]] == point for point in FACE_POINTS)


def swapped(name: str) -> str:
    """Return a name with left and right changed over."""
    for one, other in (("left", "right"), ("Left", "Right")):
        if one in name or other in name:
            return name.replace(one, "\0").replace(other, one).replace("\0", other)
    return name


def scaled(tracks: xr.Dataset, factor: float) -> xr.Dataset:
    """Return the tracks of the same film in another size."""
    other = tracks.copy(deep=True)
    for name in IN_PIXELS:
        other[name].values[:] *= factor
    size = {name: round(tracks.attrs[name] * factor) for name in ("width_px", "height_px")}
    return other.assign_attrs(size)


def shifted(tracks: xr.Dataset, right_px: float, down_px: float) -> xr.Dataset:
    """Return the tracks of a film in which all stand elsewhere in the picture."""
    other = tracks.copy(deep=True)
    for name in PLACES:
        other[name].values[:] += [right_px, down_px]
    return other


def mirrored(tracks: xr.Dataset) -> xr.Dataset:
    """Return the tracks of what a mirror shows: what was on the own left is on the own right."""
    other = tracks.copy(deep=True)
    for name in PLACES:
        other[name].values[..., 0] = tracks.attrs["width_px"] - other[name].values[..., 0]
    other["pose_world"].values[..., 0] *= -1
    other["background_shift"].values[..., 0] *= -1
    for angle in ("yaw", "roll"):
        other["head_angle"].loc[{"angle": angle}] *= -1
    body = [POSE_POINTS.index(swapped(name)) for name in POSE_POINTS]
    face = [FACE_POINTS.index(OTHER_SIDE[point]) for point in FACE_POINTS]
    shapes = [BLENDSHAPES.index(swapped(name)) for name in BLENDSHAPES]
    for name, order in (("pose_xy", body), ("pose_visibility", body), ("pose_world", body), ("face_xy", face)):
        other[name].values[:] = other[name].values[:, order]
    other["blendshape"].values[:] = other["blendshape"].values[:, shapes]
    for name in ("hand_xy", "other_hand_xy"):
        other[name].values[:] = other[name].values[:, ::-1]
    return other


def thinned(tracks: xr.Dataset, share: float, seed: int = 5) -> xr.Dataset:
    """Return the tracks of a film that lost a share of its frames, drawn by lot; the first and the last stay."""
    kept = np.random.default_rng(seed).random(tracks.sizes["time"]) >= share
    kept[[0, -1]] = True
    return tracks.isel(time=np.flatnonzero(kept))
