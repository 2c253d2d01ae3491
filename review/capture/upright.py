"""From a decoded frame to the upright picture as a player shows it: display matrix and pixel aspect, applied once."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from av.sidedata.sidedata import Type
from av.video.frame import VideoFrame
from av.video.reformatter import ColorRange, Colorspace
from numpy.typing import NDArray

from review.capture.tone import is_hdr, ordinary, planes_of, toned

Picture = NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class Shape:
    """How the stored picture of a film becomes the shown one.

    Attributes
    ----------
    stored_width, stored_height
        Size of the stored picture, pixels.
    aspect
        Width of a stored pixel over its height.
    quarters
        Clockwise quarter turns needed to show it upright.
    flipped
        Whether the display matrix also asks for a left-right flip of the stored picture, before the turn.
    """

    stored_width: int
    stored_height: int
    aspect: Fraction = Fraction(1)
    quarters: int = 0
    flipped: bool = False

    @property
    def shown(self) -> tuple[int, int]:
        """Width and height as displayed: pixels that are not square are stretched, never shrunk; then turned."""
        wide = max(self.aspect, Fraction(1))
        tall = max(1 / self.aspect, Fraction(1))
        width, height = round(self.stored_width * wide), round(self.stored_height * tall)
        return (height, width) if self.quarters % 2 else (width, height)


def shape_of(frame: VideoFrame, aspect: Fraction | None) -> Shape:
    """Read from a frame and the pixel aspect of its stream how it has to be shown."""
    quarters, flipped = _matrix_turn(frame)
    return Shape(frame.width, frame.height, aspect if aspect else Fraction(1), quarters, flipped)


class Shapes:
    """How the frames of one stream have to be shown, read once for each size and turn.

    A frame whose side data were read is held by them, and its picture stays in memory until the next full collection
    of garbage: of a 1080p film that was half a gigabyte.

    Parameters
    ----------
    aspect
        Pixel aspect of the stream.
    """

    def __init__(self, aspect: Fraction | None) -> None:
        self._aspect = aspect
        self._known: dict[tuple[int, int, int], Shape] = {}

    def of(self, frame: VideoFrame) -> Shape:
        """Return the shape of a frame."""
        look = (frame.width, frame.height, frame.rotation)
        if look not in self._known:
            self._known[look] = shape_of(frame, self._aspect)
        return self._known[look]


def _matrix_turn(frame: VideoFrame) -> tuple[int, bool]:
    """Return quarter turns clockwise and flip of the display matrix; turns between are rounded to the next quarter."""
    data = frame.side_data.get(Type.DISPLAYMATRIX)  # type: ignore[call-overload]
    if data is None:
        return round(-frame.rotation / 90) % 4, False
    matrix = np.frombuffer(bytes(data), dtype=np.int32)[:9].reshape(3, 3).astype(np.float64)
    along, across = matrix[0, :2], matrix[1, :2]
    flipped = bool(along[0] * across[1] - along[1] * across[0] < 0)
    if flipped:
        along = -along
    return round(np.degrees(np.arctan2(along[1], along[0])) / 90) % 4, flipped


def upright(frame: VideoFrame, shape: Shape, width: int, height: int, mirrored: bool = False) -> Picture:
    """Scale a frame to `width` x `height` upright pixels and return it as C-contiguous RGB.

    The stored picture is scaled first and its colours are converted after, which is five times as fast as both in
    one step; the turn follows on the small picture.
    """
    across, down = (height, width) if shape.quarters % 2 else (width, height)
    if (across, down) == (frame.width, frame.height):
        return turned(rgb_of(frame), shape, mirrored)
    if is_hdr(frame):
        small = toned(frame, across, down)
    else:
        small = frame.reformat(width=across, height=down, format="yuv420p", interpolation="AREA", threads=1)
    return turned(rgb_of(small), shape, mirrored)


def upright_frame(frame: VideoFrame, shape: Shape, width: int, height: int) -> VideoFrame:
    """Scale a frame to `width` x `height` upright pixels, both even, for an encoder: ``yuv420p``, BT.709."""
    if not is_hdr(frame):
        picture = VideoFrame.from_ndarray(upright(frame, shape, width, height), format="rgb24")
        return picture.reformat(format="yuv420p", dst_colorspace=Colorspace.ITU709, dst_color_range=ColorRange.MPEG)
    across, down = (height, width) if shape.quarters % 2 else (width, height)
    small = toned(frame, across, down)
    if not (shape.quarters or shape.flipped):
        return small
    made = ordinary(width, height)
    for plane, stored in zip(planes_of(made, np.uint8), planes_of(small, np.uint8), strict=True):
        plane[:] = turned(stored, shape)
    return made


def rgb_of(frame: VideoFrame) -> NDArray[np.uint8]:
    """Return a frame as RGB at its own size, not turned; one of high dynamic range as an ordinary screen shows it."""
    shown = toned(frame, frame.width, frame.height) if is_hdr(frame) else frame
    return np.asarray(shown.reformat(format="rgb24", threads=1).to_ndarray(), dtype=np.uint8)


def turned(rgb: NDArray[np.uint8], shape: Shape, mirrored: bool = False) -> Picture:
    """Flip and turn a stored picture upright, and unmirror it if asked; the answer is C-contiguous."""
    picture = rgb[:, ::-1] if shape.flipped else rgb
    picture = np.rot90(picture, -shape.quarters)
    if mirrored:
        picture = picture[:, ::-1]
    return np.ascontiguousarray(picture, dtype=np.uint8)
