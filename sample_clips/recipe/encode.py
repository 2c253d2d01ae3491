"""Pictures into a film, and the presentation times back out of it."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from pathlib import Path

import av
from av.video.reformatter import ColorPrimaries, ColorRange, Colorspace, ColorTrc

from .acts.scene import FRAMES_PER_SECOND
from .renderer import Picture

_KEYFRAME_EVERY = 60
"""A key frame every two seconds, so that a player jumps quickly."""


def write_film(path: Path, pictures: Iterable[Picture], size_px: tuple[int, int], crf: int, preset: str) -> None:
    """Write pictures of shape ``(height, width, 3)`` as H.264 in an MP4 file whose index comes first.

    Parameters
    ----------
    size_px
        Width and height.
    crf
        How coarsely they are compressed; more is coarser.
    preset
        How much time x264 takes for it.
    """
    with av.open(str(path), "w", options={"movflags": "+faststart"}) as film:
        stream = film.add_stream("libx264", rate=FRAMES_PER_SECOND)
        (stream.width, stream.height), stream.pix_fmt = size_px, "yuv420p"
        stream.options = {"crf": str(crf), "preset": preset, "g": str(_KEYFRAME_EVERY)}
        context = stream.codec_context
        context.time_base = Fraction(1, FRAMES_PER_SECOND)
        context.colorspace, context.color_range = Colorspace.ITU709, ColorRange.MPEG
        context.color_primaries, context.color_trc = ColorPrimaries.BT709, ColorTrc.BT709
        for number, picture in enumerate(pictures):
            frame = av.VideoFrame.from_ndarray(picture, format="rgb24").reformat(
                format="yuv420p", dst_colorspace=Colorspace.ITU709, dst_color_range=ColorRange.MPEG
            )
            frame.pts, frame.time_base = number, Fraction(1, FRAMES_PER_SECOND)
            film.mux(stream.encode(frame))
        film.mux(stream.encode())


def presentation_times(path: Path) -> list[float]:
    """Return the presentation times of the frames of a film, seconds from the first frame."""
    with av.open(str(path)) as film:
        times = [float(frame.pts * frame.time_base) for frame in film.decode(video=0)]
    return [time - times[0] for time in times]
