"""Pictures into a film, and the presentation times back out of it."""

from __future__ import annotations

import os
from collections.abc import Iterable
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from av.audio.stream import AudioStream
from av.container import OutputContainer
from av.video.reformatter import ColorPrimaries, ColorRange, Colorspace, ColorTrc

from .noise import Picture
from .sounds import SAMPLES_PER_SECOND, Sound

_SOUND_FRAME = 1024
_SOUND_BITS = 96_000

_KEYFRAME_EVERY = 60
"""A key frame every two seconds at 30 frames a second, so that a player jumps quickly."""


def write_film(
    path: Path, pictures: Iterable[Picture], size_px: tuple[int, int], crf: int, preset: str, fps: int
) -> None:
    """Write pictures of shape ``(height, width, 3)`` as H.264 in an MP4 file whose index comes first.

    Parameters
    ----------
    size_px
        Width and height.
    crf
        How coarsely they are compressed; more is coarser.
    preset
        How much time x264 takes for it.
    fps
        Frames a second.
    """
    with av.open(str(path), "w", options={"movflags": "+faststart"}) as film:
        stream = film.add_stream("libx264", rate=fps)
        (stream.width, stream.height), stream.pix_fmt = size_px, "yuv420p"
        stream.options = {"crf": str(crf), "preset": preset, "g": str(_KEYFRAME_EVERY)}
        context = stream.codec_context
        context.time_base = Fraction(1, fps)
        context.colorspace, context.color_range = Colorspace.ITU709, ColorRange.MPEG
        context.color_primaries, context.color_trc = ColorPrimaries.BT709, ColorTrc.BT709
        for number, picture in enumerate(pictures):
            frame = av.VideoFrame.from_ndarray(picture, format="rgb24").reformat(
                format="yuv420p", dst_colorspace=Colorspace.ITU709, dst_color_range=ColorRange.MPEG
            )
            frame.pts, frame.time_base = number, Fraction(1, fps)
            film.mux(stream.encode(frame))
        film.mux(stream.encode())


def presentation_times(path: Path) -> list[float]:
    """Return the presentation times of the frames of a film, seconds from the first frame."""
    with av.open(str(path)) as film:
        times = [float(frame.pts * frame.time_base) for frame in film.decode(video=0)]
    return [time - times[0] for time in times]


def add_sound(path: Path, sound: Sound) -> None:
    """Put a sound under the pictures of a film, as AAC; the pictures stay as they are."""
    sounding = path.with_name(f"sounding_{path.name}")
    with av.open(str(path)) as film, av.open(str(sounding), "w", options={"movflags": "+faststart"}) as result:
        pictures = result.add_stream_from_template(film.streams.video[0])
        voice = result.add_stream("aac", rate=SAMPLES_PER_SECOND, layout="mono", bit_rate=_SOUND_BITS)
        for packet in film.demux(video=0):
            if packet.dts is not None:
                packet.stream = pictures
                result.mux(packet)
        _encode(result, voice, sound)
    os.replace(sounding, path)


def write_sound(path: Path, sound: Sound) -> None:
    """Write a sound without pictures, as AAC in an MP4 file."""
    with av.open(str(path), "w", format="mp4", options={"movflags": "+faststart"}) as result:
        _encode(result, result.add_stream("aac", rate=SAMPLES_PER_SECOND, layout="mono", bit_rate=_SOUND_BITS), sound)


def _encode(result: OutputContainer, voice: AudioStream, sound: Sound) -> None:
    for start in range(0, len(sound), _SOUND_FRAME):
        piece = np.ascontiguousarray(sound[None, start : start + _SOUND_FRAME], np.float32)
        frame = av.AudioFrame.from_ndarray(piece, format="fltp", layout="mono")
        frame.sample_rate, frame.pts = SAMPLES_PER_SECOND, start
        frame.time_base = Fraction(1, SAMPLES_PER_SECOND)
        result.mux(voice.encode(frame))
    result.mux(voice.encode())
