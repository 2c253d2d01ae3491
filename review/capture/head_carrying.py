"""Carry the place of a head from one picture to another by how its surroundings moved."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from review.capture.background import Grey

Circle = NDArray[np.float64]

_GRID: Final = 7
_WITHIN: Final = 0.6
_WINDOW: Final = 15
_LEVELS: Final = 3
_BACK_PX: Final = 1.5
_ENOUGH: Final = 8
_LARGER: Final = 1.1


def carried(circle: Circle, before: Grey, after: Grey, width_px: float) -> Circle:
    """Return where a circle of the picture `before` lies in the picture `after`.

    The optical flow (Lucas-Kanade, in a pyramid) of a grid of points within it is followed there and back; those that
    come back count, and their median is the movement. Where too few do, the circle stays where it is.

    Parameters
    ----------
    circle
        Middle and radius, shape ``(3,)``, px of the picture.
    before, after
        Small grey pictures of equal size (`review.capture.picture.grey_of`).
    width_px
        Width of the picture.
    """
    import cv2

    scale = before.shape[1] / width_px
    steps = np.linspace(-_WITHIN, _WITHIN, _GRID) * circle[2]
    grid = np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2) + circle[:2]
    start = np.ascontiguousarray((grid * scale)[:, None], dtype=np.float32)
    flow = cv2.SparsePyrLKOpticalFlow.create((_WINDOW, _WINDOW), _LEVELS)
    there, found, _ = flow.calc(before, after, start, start.copy())
    back, found_back, _ = flow.calc(after, before, there, there.copy())
    astray = np.hypot(*(back - start)[:, 0].T)
    kept = (found[:, 0] == 1) & (found_back[:, 0] == 1) & (astray < _BACK_PX)
    if kept.sum() < _ENOUGH:
        return circle
    first, second = start[kept, 0], there[kept, 0]
    moved = np.median(second - first, axis=0) / scale
    spread = [np.median(np.hypot(*(points - np.median(points, axis=0)).T)) for points in (first, second)]
    larger = np.clip(spread[1] / max(spread[0], 1e-6), 1 / _LARGER, _LARGER)
    return np.array([*(circle[:2] + moved), circle[2] * larger])
