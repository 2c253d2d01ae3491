"""A copy of a film that browsers play, on the clock of the recording."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from fractions import Fraction
from heapq import merge
from pathlib import Path
from typing import Any, Final, TypeAlias
from uuid import uuid4

import av
import numpy as np
from av.audio.frame import AudioFrame
from av.audio.stream import AudioStream
from av.container import InputContainer, OutputContainer
from av.packet import Packet
from av.video.frame import VideoFrame
from av.video.reformatter import ColorPrimaries, ColorRange, Colorspace, ColorTrc
from av.video.stream import VideoStream
from numpy.typing import NDArray

from review.capture.clock import Clock, clock_of
from review.capture.film import open_film, picture_stream, sound_stream
from review.capture.packets import demuxed
from review.capture.probe import FilmFacts, probe
from review.capture.refusals import Refusal
from review.capture.sound import sound_blocks
from review.capture.upright import upright_frame
from review.capture.video import fitted, raw_frames
from review.domain.errors import FilmRefused

LONG_SIDE_PX: Final = 1920
"""Longer side of a new encoding; smaller films are not enlarged."""

_TICK = Fraction(1, 90_000)
_SOUND_HZ = 48_000
_SOUND_AFTER_S = 60.0
_SOUND_BITS_S = 128_000
_BITS_A_PIXEL = 0.12
_INDEX_BYTES = 100_000
_NOT_COPIED = (av.error.ArgumentError, av.error.InvalidDataError, av.error.PatchWelcomeError)
_PICTURE_OPTIONS = {"crf": "21", "preset": "veryfast", "bf": "0", "g": "30"}

Progress = Callable[[float], None]
Paint = Callable[[float, VideoFrame], None]
Timed: TypeAlias = "tuple[float, list[Packet[Any]]]"


def make_playback(path: Path, facts: FilmFacts, target: Path, progress: Progress | None = None) -> None:
    """Write an MP4 copy (H.264, 8 bit, AAC) whose time 0 is the first frame of the recording.

    A picture that browsers can play is copied without a new encoding, its turn to upright kept as the players' task
    (they do it); any other is encoded anew, upright and with
    the times of its frames as they are, at most `LONG_SIDE_PX` long. So is one whose packets cannot be copied, because
    their order is damaged, or whose copy shows nothing. The sound is laid on the picture's clock. The file is written
    under another name and renamed when it is whole and on the disk.

    Parameters
    ----------
    path
        The film.
    facts
        As `review.capture.probe.probe` gave them.
    target
        Where the copy shall be; its folder must exist.
    progress
        Called with the share that is done, 0 to 1.

    Raises
    ------
    FilmRefused
        If the film cannot be read.
    """
    tell = progress or (lambda share: None)
    with whole(target) as part:
        if facts.playback == "transcode" or not _copied_well(part, path, facts, tell):
            _write(part, path, replace(facts, playback="transcode"), tell)
    tell(1.0)


@contextmanager
def whole(target: Path) -> Iterator[Path]:
    """Give another name to write to, which becomes `target` once the file is whole and on the disk."""
    part = target.with_name(f".{target.name}.{uuid4().hex[:8]}.part")
    try:
        yield part
        with part.open("rb+") as written:
            os.fsync(written.fileno())
        os.replace(part, target)
    finally:
        part.unlink(missing_ok=True)


def copy_bytes(facts: FilmFacts) -> int:
    """Return how many bytes the copy of a film takes at most, by experience; 0 if it needs none.

    A new encoding is reckoned with the bits a pixel that the busiest of the films took it was measured on.
    """
    if facts.playback == "as is":
        return 0
    sound = facts.duration_s * _SOUND_BITS_S * facts.has_sound
    width, height = fitted((facts.width_px, facts.height_px), LONG_SIDE_PX)
    anew = width * height * facts.frames * _BITS_A_PIXEL / 8
    picture = facts.size_bytes if facts.playback == "remux" else anew
    return round(picture + sound / 8) + _INDEX_BYTES


def _copied_well(part: Path, path: Path, facts: FilmFacts, tell: Progress) -> bool:
    """Copy without a new encoding, and tell whether that worked and the first frame of the copy can be shown."""
    try:
        _write(part, path, facts, tell)
        with open_film(part, threads=False) as copy:
            return clock_of(copy, picture_stream(copy)) is not None
    except (*_NOT_COPIED, FilmRefused):
        return False


def _write(part: Path, path: Path, facts: FilmFacts, tell: Progress) -> None:
    with av.open(str(part), "w", format="mp4", options={"movflags": "faststart"}) as out:
        _mux(out, path, facts, tell)


def _mux(out: OutputContainer, path: Path, facts: FilmFacts, tell: Progress) -> None:
    if facts.playback == "transcode":
        mux_anew(out, path, facts, facts.has_sound, _untouched, tell)
        return
    clock = _clock(path, facts)
    sound = _sound_stream(out, path) if facts.has_sound else None
    with open_film(path) as source:
        template = picture_stream(source)
        lanes = [_copied(source, template, out.add_stream_from_template(template), clock, facts)]
        if sound is not None:
            lanes.append(_sounds(sound, path, clock.origin * clock.tick_s, facts.duration_s + _SOUND_AFTER_S))
        _mux_lanes(out, lanes, facts, tell)


def mux_anew(
    out: OutputContainer, path: Path, facts: FilmFacts, with_sound: bool, paint: Paint, tell: Progress
) -> None:
    """Encode a film anew into an open container, upright and with the times of its frames as they are.

    Parameters
    ----------
    with_sound
        Whether its sound is encoded too; there must be some.
    paint
        Called with the time of each frame and its upright picture (``yuv420p``), which it may change.
    tell
        Called with the share that is done.
    """
    clock = _clock(path, facts)
    sound = _sound_stream(out, path) if with_sound else None
    times = probe(path)[1]
    lanes = [_encoded(_picture_stream(out, facts), path, times, paint)]
    if sound is not None:
        zero_s = clock.origin * clock.tick_s - float(times[clock.unstamped])
        lanes.append(_sounds(sound, path, zero_s, facts.duration_s + _SOUND_AFTER_S))
    _mux_lanes(out, lanes, facts, tell)


def _untouched(time_s: float, picture: VideoFrame) -> None:
    """Leave a picture as it is."""


def _clock(path: Path, facts: FilmFacts) -> Clock:
    with open_film(path, threads=False) as source:
        clock = clock_of(source, picture_stream(source))
    if clock is None:
        raise Refusal.NO_FRAME.of(path, codec=facts.codec)
    return clock


def _mux_lanes(out: OutputContainer, lanes: list[Iterator[Timed]], facts: FilmFacts, tell: Progress) -> None:
    for time_s, packets in merge(*lanes, key=lambda each: each[0]):
        out.mux(packets)
        tell(min(1.0, max(0.0, time_s / max(facts.duration_s, 1e-3))))


def _picture_stream(out: OutputContainer, facts: FilmFacts) -> VideoStream:
    width, height = fitted((facts.width_px, facts.height_px), LONG_SIDE_PX)
    stream = out.add_stream("libx264", rate=30, options=_PICTURE_OPTIONS)
    stream.width, stream.height, stream.pix_fmt = width - width % 2, height - height % 2, "yuv420p"
    context = stream.codec_context
    context.time_base = stream.time_base = _TICK
    context.color_primaries, context.color_trc = ColorPrimaries.BT709, ColorTrc.BT709
    context.colorspace, context.color_range = Colorspace.ITU709, ColorRange.MPEG
    return stream


def _encoded(stream: VideoStream, path: Path, times: NDArray[np.float64], paint: Paint) -> Iterator[Timed]:
    """Encode all frames anew, upright, each at its own time, after they were painted on."""
    for raw in raw_frames(path, times, 0, len(times)):
        picture = upright_frame(raw.frame, raw.shape, stream.width, stream.height)
        paint(raw.time_s, picture)
        picture.pts, picture.time_base = round(raw.time_s / _TICK), _TICK
        yield raw.time_s, stream.encode(picture)
    yield float(times[-1]), stream.encode(None)


def _copied(
    source: InputContainer, template: VideoStream, stream: VideoStream, clock: Clock, facts: FilmFacts
) -> Iterator[Timed]:
    """Hand the packets of the picture on, moved so that the first frame is at 0.

    Packets that do not say how long they are shown are given the typical time; an MP4 hides a last frame without.
    """
    typical = max(1, round(facts.duration_s / facts.frames / clock.tick_s))
    for packet in demuxed(source, [template]):
        if packet.size and not packet.is_corrupt and packet.pts is not None:
            packet.pts -= clock.origin
            packet.duration = packet.duration or typical
            packet.dts = None if packet.dts is None else packet.dts - clock.origin
            packet.stream = stream
            yield (packet.dts or 0) * clock.tick_s, [packet]


def _sound_stream(out: OutputContainer, path: Path) -> AudioStream:
    with open_film(path) as source:
        found = sound_stream(source)
        channels = min(2, found.channels) if found is not None else 1
    return out.add_stream("aac", rate=_SOUND_HZ, layout="stereo" if channels == 2 else "mono")


def _sounds(stream: AudioStream, path: Path, zero_s: float, stop_s: float) -> Iterator[Timed]:
    """Encode the sound anew, laid on the picture's clock."""
    given, channels = 0, stream.channels
    for block in sound_blocks(path, zero_s, _SOUND_HZ, channels, stop_s):
        for piece in np.split(block, range(_SOUND_HZ, len(block), _SOUND_HZ)):
            frame = AudioFrame.from_ndarray(piece.reshape(1, -1), format="s16", layout=stream.layout.name)
            frame.sample_rate, frame.pts, frame.time_base = _SOUND_HZ, given, Fraction(1, _SOUND_HZ)
            yield given / _SOUND_HZ, stream.encode(frame)
            given += len(piece)
    yield given / _SOUND_HZ, stream.encode(None)
