"""A copy of a film in which heads are masked, for sharing: nothing of them, and nothing of its origin, is in it."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import av
import numpy as np
from av.video.frame import VideoFrame
from numpy.typing import NDArray

from review.capture.playback import Progress, mux_anew, whole
from review.capture.probe import FilmFacts
from review.capture.tone import planes_of

Masks = NDArray[np.float64]
"""Rows of from and to (seconds), middle x and y and radius (px of the picture as displayed); shape ``(mask, 5)``."""

FILL: Final = 128
"""Luma, and both colours, of a mask: a middle grey, whatever lies beneath."""

_CONTAINER: Final = {"movflags": "faststart", "fflags": "+bitexact"}
_FRACTION_BITS: Final = 4


def make_masked(
    path: Path, facts: FilmFacts, target: Path, masks: Masks, sound: bool = False, progress: Progress | None = None
) -> None:
    """Write an MP4 copy (H.264, 8 bit) of a film with some of the picture filled with one grey.

    All frames are encoded anew, upright, at their own times, at most `review.capture.playback.LONG_SIDE_PX` long. A
    mask is one flat colour that is the same in every film, so nothing that lay beneath can be worked out from it, as
    it can from a blur or a mosaic. What the film's container says of itself (place, device, dates, titles), further
    streams and side data are not taken over.

    Parameters
    ----------
    path
        The film.
    facts
        As `review.capture.probe.probe` gave them.
    target
        Where the copy shall be; its folder must exist. It takes its name when it is whole and on the disk.
    masks
        What is masked when.
    sound
        Whether the sound comes along (AAC), if there is any.
    progress
        Called with the share that is done, 0 to 1.

    Raises
    ------
    FilmRefused
        If the film cannot be read.
    """
    tell = progress or (lambda share: None)

    def paint(time_s: float, picture: VideoFrame) -> None:
        now = masks[(masks[:, 0] <= time_s) & (time_s <= masks[:, 1]), 2:]
        fill(picture, now * (picture.width / facts.width_px))

    with whole(target) as part, av.open(str(part), "w", format="mp4", options=_CONTAINER) as out:
        mux_anew(out, path, facts, sound and facts.has_sound, paint, tell)
    tell(1.0)


def fill(picture: VideoFrame, circles: NDArray[np.float64]) -> None:
    """Fill circles of a ``yuv420p`` picture, shape ``(circle, 3)``, px, with one grey."""
    import cv2

    if not len(circles):
        return
    luma, *colours = planes_of(picture, np.uint8)
    mask = np.zeros(luma.shape, np.uint8)
    for x, y, radius in np.round(circles * (1 << _FRACTION_BITS)).astype(int).tolist():
        cv2.circle(mask, (x, y), max(radius, 1), 1, cv2.FILLED, shift=_FRACTION_BITS)
    luma[mask > 0] = FILL
    for colour in colours:
        colour[_halved(mask, colour.shape) > 0] = FILL


def _halved(mask: NDArray[np.uint8], shape: tuple[int, ...]) -> NDArray[np.uint8]:
    """Return a mask at half its size, set wherever any of its four pixels is."""
    return np.asarray(mask.reshape(shape[0], 2, shape[1], 2).max(axis=(1, 3)))
