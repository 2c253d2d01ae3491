"""A square cut out of a decoded frame at full resolution, upright, and the way back to the shown picture."""

from __future__ import annotations

from typing import Final

import numpy as np
from av.video.frame import VideoFrame
from numpy.typing import NDArray

from review.capture.head import Box, Points
from review.capture.upright import Picture, Shape, turned

CUT_PX: Final = 512
"""Side of the picture that a cut-out is scaled to."""

_PLANAR = ("yuv420p", "yuvj420p")


def cut_out(frame: VideoFrame, shape: Shape, box: Box, mirrored: bool = False) -> Picture:
    """Cut `box` out of the shown picture, scale it to `CUT_PX` square, and return RGB, C-contiguous.

    What of the box lies outside the picture is black. Only the part that is needed is converted.

    Parameters
    ----------
    frame, shape
        The stored picture and how it is shown.
    box
        In the shown picture (unmirrored, if `mirrored`), px.
    mirrored
        Whether the film shows the room mirrored.
    """
    import cv2

    width, height = shape.shown
    left = width - box.left - box.side if mirrored else box.left
    corners = _stored(np.array([[left, box.top], [left + box.side, box.top + box.side]]), shape, width, height)
    low, high = np.floor(corners.min(axis=0)).astype(int), np.ceil(corners.max(axis=0)).astype(int)
    inner_low, inner_high = np.maximum(low, 0), np.minimum(high, (shape.stored_width, shape.stored_height))
    if np.any(inner_high - inner_low < 4):
        return np.zeros((CUT_PX, CUT_PX, 3), np.uint8)
    inner_low -= inner_low % 2
    part = _rgb_part(frame, *inner_low, *inner_high)
    scale = CUT_PX / (corners.max(axis=0) - corners.min(axis=0))
    shift = (inner_low - corners.min(axis=0)) * scale
    warp = np.array([[scale[0], 0, shift[0] + 0.5 * scale[0] - 0.5], [0, scale[1], shift[1] + 0.5 * scale[1] - 0.5]])
    cut = cv2.warpAffine(part, warp, (CUT_PX, CUT_PX), flags=cv2.INTER_LINEAR if scale[0] < 1 else cv2.INTER_CUBIC)
    return turned(np.asarray(cut, dtype=np.uint8), shape, mirrored)


def back_to_picture(shares: Points, box: Box) -> Points:
    """Turn points given as shares of a cut-out into pixels of the shown picture; shape ``(point, 2)``."""
    return np.asarray(shares * box.side + (box.left, box.top), dtype=np.float64)


def _stored(points: Points, shape: Shape, width: int, height: int) -> Points:
    """Turn points of the shown picture into points of the stored one."""
    x, y = points[:, 0] / width, points[:, 1] / height
    for _ in range(shape.quarters % 4):
        x, y = y, 1 - x
    if shape.flipped:
        x = 1 - x
    return np.stack([x * shape.stored_width, y * shape.stored_height], axis=1)


def _rgb_part(frame: VideoFrame, left: int, top: int, right: int, bottom: int) -> NDArray[np.uint8]:
    if frame.format.name not in _PLANAR:
        return np.asarray(frame.to_ndarray(format="rgb24")[top:bottom, left:right], dtype=np.uint8)
    right, bottom = right - (right - left) % 2, bottom - (bottom - top) % 2
    planes = []
    for number, plane in enumerate(frame.planes):
        half = 2 if number else 1
        rows = np.frombuffer(memoryview(plane), np.uint8).reshape(-1, plane.line_size)
        part = rows[top // half : bottom // half, left // half : right // half]
        planes.append(part.reshape(-1, right - left) if number == 0 else part.reshape(-1))
    packed = np.concatenate([each.reshape(-1) for each in planes]).reshape(-1, right - left)
    part_frame = VideoFrame.from_ndarray(packed, format="yuv420p")
    part_frame.colorspace, part_frame.color_range = frame.colorspace, frame.color_range
    return np.asarray(part_frame.to_ndarray(format="rgb24"), dtype=np.uint8)
