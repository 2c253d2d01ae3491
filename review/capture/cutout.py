"""A square cut out of a decoded frame at full resolution, upright, and the way back to the shown picture."""

from __future__ import annotations

from typing import Final

import numpy as np
from av.video.frame import VideoFrame
from numpy.typing import NDArray

from review.capture.head import Box, Points
from review.capture.tone import planes_of
from review.capture.upright import Picture, Shape, rgb_of, turned

CUT_PX: Final = 512
"""Side of the picture that a cut-out is scaled to."""

_LARGEST = 2.0
_PLANAR: Final[dict[str, type[np.generic]]] = {"yuv420p": np.uint8, "yuvj420p": np.uint8, "yuv420p10le": np.uint16}

Corner = NDArray[np.int_]


def cut_out(frame: VideoFrame, shape: Shape, box: Box, mirrored: bool = False) -> tuple[Picture, Box]:
    """Cut `box` out of the shown picture at full resolution and scale it to `CUT_PX` square.

    Only the part that is needed is converted. What of the box lies outside the picture is black;
    a box of more than twice the picture's size, which no head has, gives black only.

    Parameters
    ----------
    frame, shape
        The stored picture and how it is shown.
    box
        In the shown picture (the flipped one, if `mirrored`), px.
    mirrored
        Whether the film shows the room mirrored.

    Returns
    -------
    picture
        RGB, C-contiguous, upright.
    box
        What was cut out: `box` rounded outwards to whole stored pixels.
    """
    import cv2

    if max(box.width, box.height) > _LARGEST * max(shape.shown):
        return np.zeros((CUT_PX, CUT_PX, 3), np.uint8), box
    low, high = _stored_corners(shape, box, mirrored)
    limit = np.array([shape.stored_width, shape.stored_height])
    inner_low, inner_high = np.clip(low, 0, limit), np.clip(high, 0, limit)
    part = np.zeros((high[1] - low[1], high[0] - low[0], 3), np.uint8)
    if np.all(inner_high - inner_low >= 2):
        (left, top), (right, bottom) = inner_low - low, inner_high - low
        part[top:bottom, left:right] = _rgb_part(frame, *map(int, inner_low), *map(int, inner_high))
    cut = cv2.resize(part, (CUT_PX, CUT_PX), interpolation=cv2.INTER_AREA if len(part) > CUT_PX else cv2.INTER_CUBIC)
    return turned(np.asarray(cut, dtype=np.uint8), shape, mirrored), _shown_box(shape, low, high, mirrored)


def back_to_picture(shares: Points, box: Box) -> Points:
    """Turn points given as shares of a cut-out into pixels of the shown picture; shape ``(point, 2)``."""
    return np.asarray(shares * (box.width, box.height) + (box.left, box.top), dtype=np.float64)


def _stored_corners(shape: Shape, box: Box, mirrored: bool) -> tuple[Corner, Corner]:
    """Return the corners of a shown box in whole stored pixels, even ones, as the colours are stored two by two."""
    width, height = shape.shown
    x = np.array([box.left, box.left + box.width]) / width
    y = np.array([box.top, box.top + box.height]) / height
    if mirrored:
        x = 1 - x
    for _ in range(shape.quarters):
        x, y = y, 1 - x
    if shape.flipped:
        x = 1 - x
    corners = np.stack([x * shape.stored_width, y * shape.stored_height], axis=1)
    low, high = np.floor(corners.min(axis=0)).astype(int), np.ceil(corners.max(axis=0)).astype(int)
    return low - low % 2, high + high % 2


def _shown_box(shape: Shape, low: Corner, high: Corner, mirrored: bool) -> Box:
    """Return a rectangle of stored pixels as a box of the shown picture."""
    x, y = (np.array([low[axis], high[axis]]) / (shape.stored_width, shape.stored_height)[axis] for axis in (0, 1))
    if shape.flipped:
        x = 1 - x
    for _ in range(shape.quarters):
        x, y = 1 - y, x
    if mirrored:
        x = 1 - x
    width, height = shape.shown
    return Box(x.min() * width, y.min() * height, float(np.ptp(x)) * width, float(np.ptp(y)) * height)


def _rgb_part(frame: VideoFrame, left: int, top: int, right: int, bottom: int) -> NDArray[np.uint8]:
    """Return a rectangle of the stored picture as RGB; where the format allows, nothing else is converted."""
    kind = _PLANAR.get(frame.format.name)
    if kind is None or (right - left) % 2 or (bottom - top) % 2:
        return rgb_of(frame)[top:bottom, left:right]
    small = VideoFrame(right - left, bottom - top, frame.format.name)
    for number, (part, whole) in enumerate(zip(planes_of(small, kind), planes_of(frame, kind), strict=True)):
        half = 2 if number else 1
        part[:] = whole[top // half : bottom // half, left // half : right // half]
    small.colorspace, small.color_range = frame.colorspace, frame.color_range
    small.color_trc, small.color_primaries = frame.color_trc, frame.color_primaries
    return rgb_of(small)
