"""Whether the camera moved, from what stands behind the person."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Grey = NDArray[np.uint8]
Points = NDArray[np.float64]

_ALIKE = 0.6
_RETURNING_PX = 0.5
_FARTHEST_PX = 12
_REFINEMENTS = 4
_PATCH_PX = 13
_CELL_PX = 20
_LEAST_DETAIL = 3.0
_CORNER_SHARE = 0.15
_LEAST_SPOTS = 8
_STAYING_PX = 0.12
_STAYING_SHARE = 0.4
_AGREEING_PX = 0.3
_AGREEING_SHARE = 0.1
_AGREEING_MOST = 0.6
_TELLING_SHARE = 0.25
_EITHER_SIDE = 0.15
_TOLD_SHARE = 0.05
_FITS = 12
_AROUND_PX = 21


def background_shift(before: Grey, now: Grey, person: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Return how far the background moved between two luma pictures, x and y in their pixels, shape ``(2,)``.

    In every cell of a grid over what is not the person, the spot with the strongest edge is followed; an edge tells
    the movement across it alone, a corner both ways. Dropped are spots that do not come back within half a pixel, and
    those whose surroundings differ by more than 0.6 of their own detail, as noise on a blank wall does.

    What is left may still be shadows of the person, or somebody who passes. A camera that moves takes everything
    along as one. So it stands still, whatever some spots do, if two in five stay where they are, on either side of the
    person; it moved if most follow one shift, turn and change of size that explains the ways of some on either side.
    Where neither holds the answer is NaN. A direction that nothing tells, such as along the only edge there is, counts
    as still.

    Parameters
    ----------
    before, now
        Luma pictures of one size, shape ``(h, w)``.
    person
        True where the person may be, shape ``(h, w)``; those parts are not looked at.

    References
    ----------
    Lucas and Kanade 1981 (pyramidal form: Bouguet 2001) for following; Holland and Welsch 1977 for the robust fit.
    """
    seen = _followed(before, now, person)
    if len(seen.way) == 0:
        return np.full(2, np.nan)
    gone = np.abs(seen.way)
    if _speak_for_all(seen, gone < _STAYING_PX, person, _STAYING_SHARE):
        return np.zeros(2)
    shift, off = _moved_as_one(seen, person.shape)
    agreeing = off < _AGREEING_PX + _AGREEING_SHARE * np.hypot(*shift)
    told = agreeing & (gone >= _STAYING_PX) & (off < gone / 2)
    if agreeing.mean() >= _AGREEING_MOST and _speak_for_all(seen, told, person, _TELLING_SHARE):
        return shift
    return np.full(2, np.nan)


@dataclass(frozen=True, slots=True)
class _Seen:
    """What was followed, each of shape ``(n, 2)`` or ``(n,)``: where, the direction told, and how far along it."""

    place: Points
    direction: Points
    way: Points


def _followed(before: Grey, now: Grey, person: NDArray[np.bool_]) -> _Seen:
    start, across, along = _spots(before, person)
    corner = np.isfinite(along).all(axis=1)
    ways, kept = _corners_followed(before, now, start[corner])
    place, direction = np.tile(start[corner][kept], (2, 1)), np.concatenate([across[corner][kept], along[corner][kept]])
    way = np.einsum("ij,ij->i", np.tile(ways[kept], (2, 1)), direction)
    edge, normal = start[~corner], across[~corner]
    steps, told = _edges_followed(before, now, edge, normal)
    return _Seen(
        np.concatenate([place, edge[told]]),
        np.concatenate([direction, normal[told]]),
        np.concatenate([way, steps[told]]),
    )


def _corners_followed(before: Grey, now: Grey, start: Points) -> tuple[Points, NDArray[np.bool_]]:
    """Return the way of each corner, shape ``(corner, 2)``, and whether it came back and looks alike."""
    import cv2

    if len(start) == 0:
        return np.empty((0, 2)), np.empty(0, dtype=bool)
    start32 = start.astype(np.float32)[:, None]
    ahead, found, unlike = cv2.calcOpticalFlowPyrLK(before, now, start32, np.empty_like(start32))
    back, returned, _ = cv2.calcOpticalFlowPyrLK(now, before, ahead, np.empty_like(start32))
    kept = (found[:, 0] == 1) & (returned[:, 0] == 1) & (np.abs(back - start32).max(axis=(1, 2)) < _RETURNING_PX)
    kept &= unlike[:, 0] < _ALIKE * _detail_at(before, start)
    return (ahead - start32)[:, 0].astype(np.float64), kept


def _edges_followed(before: Grey, now: Grey, start: Points, normal: Points) -> tuple[Points, NDArray[np.bool_]]:
    """Return how far each edge went across itself, shape ``(edge,)``, and whether it looks alike there.

    The best of every second pixel up to a dozen, then made finer as Lucas and Kanade do, in the one direction.
    """
    if len(start) == 0:
        return np.empty(0), np.empty(0, dtype=bool)
    first, second = before.astype(np.float32), now.astype(np.float32)
    was = _patches(first, start)
    tries = np.arange(-_FARTHEST_PX, _FARTHEST_PX + 1.0, 2.0)
    costs = np.stack([_unlike(was, _patches(second, start + step * normal)) for step in tries])
    steps = tries[costs.argmin(axis=0)]
    slope = _patches(first, start + 0.5 * normal) - _patches(first, start - 0.5 * normal)
    power = np.maximum((slope**2).sum(axis=1), 1e-9)
    for _ in range(_REFINEMENTS):
        steps += (slope * (was - _patches(second, start + steps[:, None] * normal))).sum(axis=1) / power
    alike = _unlike(was, _patches(second, start + steps[:, None] * normal)) < _ALIKE * was.std(axis=1)
    return steps, alike & (np.abs(steps) < _FARTHEST_PX)


def _patches(grey: NDArray[np.float32], centres: Points) -> NDArray[np.float32]:
    """Return the luma around each place, between pixels by straight lines, shape ``(place, pixel)``."""
    import cv2

    down, across = np.divmod(np.arange(_PATCH_PX**2, dtype=np.float32), np.float32(_PATCH_PX))
    x, y = (centres.astype(np.float32) - _PATCH_PX // 2).T
    taken = cv2.remap(grey, x[:, None] + across, y[:, None] + down, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(taken, np.float32)


def _unlike(one: NDArray[np.float32], other: NDArray[np.float32]) -> Points:
    """Return the mean difference of each pair of patches, shape ``(pair,)``."""
    return np.asarray(np.abs(one - other).mean(axis=1), np.float64)


def _spots(grey: Grey, person: NDArray[np.bool_]) -> tuple[Points, Points, Points]:
    """Return the strongest spot of each cell, the direction across its edge, and along it if it is a corner, else NaN.

    Each of shape ``(spot, 2)``.
    """
    import cv2

    values = np.asarray(cv2.cornerEigenValsAndVecs(grey, 7, 3), np.float64)
    strength = np.where(person, 0.0, np.abs(values[..., 0]) + np.abs(values[..., 1]))
    height, width = strength.shape
    rows, columns = np.arange(0, height - _CELL_PX + 1, _CELL_PX), np.arange(0, width - _CELL_PX + 1, _CELL_PX)
    cells = strength[: len(rows) * _CELL_PX, : len(columns) * _CELL_PX]
    cells = cells.reshape(len(rows), _CELL_PX, len(columns), _CELL_PX).swapaxes(1, 2).reshape(-1, _CELL_PX**2)
    best = cells.argmax(axis=1)
    y = np.repeat(rows, len(columns)) + best // _CELL_PX
    x = np.tile(columns, len(rows)) + best % _CELL_PX
    places = np.stack([x, y], axis=1).astype(np.float64)
    clear = (cells.max(axis=1) > 0) & (_detail_at(grey, places) > _LEAST_DETAIL)
    pair = values[y[clear], x[clear]]
    order = np.abs(pair[:, 0]) >= np.abs(pair[:, 1])
    large, small = np.where(order, pair[:, :2].T, pair[:, 1::-1].T)
    across = np.where(order[:, None], pair[:, 2:4], pair[:, 4:6])
    along = np.stack([-across[:, 1], across[:, 0]], axis=1)
    along[np.abs(small) < _CORNER_SHARE * np.abs(large)] = np.nan
    return places[clear], across, along


def _moved_as_one(seen: _Seen, size: tuple[int, ...]) -> tuple[Points, Points]:
    """Fit one shift, turn and change of size; return the shift of the picture's middle and how far off each spot is."""
    half = np.array([size[1], size[0]]) / 2
    x, y = ((seen.place - half) / half.max()).T
    across, down = seen.direction.T
    design = np.stack([across, down, down * x - across * y, across * x + down * y], axis=1)
    weight: Points = np.ones(len(x))
    fitted: Points = np.zeros(4)
    for _ in range(_FITS):
        found = np.linalg.lstsq(design * weight[:, None], seen.way * weight, rcond=_TOLD_SHARE)[0]
        fitted = np.asarray(found, np.float64)
        weight = np.asarray(1 / np.sqrt(1 + (design @ fitted - seen.way) ** 2 / _AGREEING_PX**2), np.float64)
    return fitted[:2], np.abs(design @ fitted - seen.way)


def _speak_for_all(seen: _Seen, which: NDArray[np.bool_], person: NDArray[np.bool_], share: float) -> bool:
    """Tell whether some of the spots are enough of them, and lie on either side of the person."""
    if which.sum() < max(_LEAST_SPOTS, share * len(which)):
        return False
    _, across = np.nonzero(person)
    middle = across.mean() if len(across) else person.shape[1] / 2
    left = float(np.mean(seen.place[which, 0] < middle))
    return _EITHER_SIDE <= left <= 1 - _EITHER_SIDE


def _detail_at(grey: Grey, corners: Points) -> NDArray[np.float64]:
    """Return the standard deviation of luma in the surroundings of each corner, shape ``(corner,)``."""
    import cv2

    value = grey.astype(np.float32)
    mean = cv2.blur(value, (_AROUND_PX, _AROUND_PX))
    square = cv2.blur(value * value, (_AROUND_PX, _AROUND_PX))
    detail = np.sqrt(np.maximum(np.asarray(square) - np.asarray(mean) ** 2, 0))
    places = np.round(corners).astype(int)
    return np.asarray(detail[places[:, 1], places[:, 0]], dtype=np.float64)
