"""Frames of a film with the times at which a player shows them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import av
import numpy as np
from av.container import InputContainer
from av.video.frame import VideoFrame
from av.video.stream import VideoStream
from numpy.typing import NDArray

from review.capture.clock import Clock, begun, clock_of, decode_packets, stamp_of
from review.capture.film import beside_models, open_film, picture_stream
from review.capture.upright import Picture, Shape, Shapes, upright

Times = NDArray[np.float64]

_NEAR_START_S = 0.5
_STEPS_BACK_S = (0.0, 2.0, 8.0, 30.0)


@dataclass(frozen=True, slots=True)
class Frame:
    """One frame as a person sees it.

    Attributes
    ----------
    index, time_s
        Its place in the list of times, and its time in seconds.
    picture
        RGB, shape ``(height, width, 3)``, C-contiguous, upright; flipped left to right if the film is mirrored.
    """

    index: int
    time_s: float
    picture: Picture


@dataclass(frozen=True, slots=True)
class RawFrame:
    """One decoded frame, not yet converted, with its place on the recording's clock."""

    index: int
    time_s: float
    frame: VideoFrame
    shape: Shape


def frames(
    path: Path, times: Times, first: int, stop: int, long_side_px: int, mirrored: bool = False
) -> Iterator[Frame]:
    """Yield the frames `first` to ``stop - 1`` of a film, those that can be decoded, in order.

    Every frame is matched to `times` by its own stamp. Reading starts at a key frame at or before `first`.

    Parameters
    ----------
    path
        The film.
    times
        Presentation times of all its frames as `review.capture.intake.probe` gave them, shape ``(time,)``, seconds.
    first, stop
        Range of frame indices.
    long_side_px
        Longer side of the pictures; smaller films are not enlarged.
    mirrored
        Whether the film shows the room mirrored; its pictures are then flipped so that left is left.

    Raises
    ------
    FilmRefused
        If the file cannot be opened as a film.
    """
    for raw in raw_frames(path, times, first, stop):
        width, height = fitted(raw.shape.shown, long_side_px)
        yield Frame(raw.index, raw.time_s, upright(raw.frame, raw.shape, width, height, mirrored))


def fitted(size: tuple[int, int], long_side_px: int) -> tuple[int, int]:
    """Return `size` scaled down, if need be, so that its longer side is `long_side_px`."""
    scale = min(1.0, long_side_px / max(size))
    return max(1, round(size[0] * scale)), max(1, round(size[1] * scale))


def raw_frames(path: Path, times: Times, first: int, stop: int) -> Iterator[RawFrame]:
    """Yield frames `first` to ``stop - 1`` without converting them; see `frames`."""
    if first >= stop:
        return
    with open_film(path) as container:
        beside_models(container)
        stream = picture_stream(container)
        clock, flow = begun(container, stream)
        if clock is None:
            return
        if times[first] - times[clock.unstamped] <= _NEAR_START_S:
            yield from _within(_matched(flow, stream, clock, times, from_start=True), first, stop)
            return
    yield from _within(_from_key_frame(path, clock, times, first), first, stop)


def key_frames(path: Path, times: Times, first: int, stop: int) -> Iterator[RawFrame]:
    """Yield those of the frames `first` to ``stop - 1`` that stand for themselves, without decoding those between."""
    with open_film(path) as container:
        clock = clock_of(container, picture_stream(container))
    if clock is None or first >= stop:
        return
    with open_film(path, threads=False) as container:
        stream = picture_stream(container)
        stream.codec_context.skip_frame = "NONKEY"
        target_s = float(times[first] - times[clock.unstamped])
        walk = (
            _sought(container, clock, times, target_s)
            if target_s > _NEAR_START_S
            else _matched(decode_packets(container, stream), stream, clock, times, from_start=True)
        )
        yield from _within(walk, first, stop)


def _within(walk: Iterator[tuple[int, RawFrame]], first: int, stop: int) -> Iterator[RawFrame]:
    """Yield the frames asked for; of frames that damage has put out of order, those that come too late are left out."""
    last = first - 1
    for index, raw in walk:
        if index >= stop:
            return
        if index > last:
            last = index
            yield raw


def _from_key_frame(path: Path, clock: Clock, times: Times, first: int) -> Iterator[tuple[int, RawFrame]]:
    """Yield frames from a key frame before `first` on, or from the start where the film cannot be sought."""
    for back_s in _STEPS_BACK_S:
        target_s = float(times[first] - times[clock.unstamped]) - back_s
        if target_s <= 0:
            break
        with open_film(path) as container:
            beside_models(container)
            walk = _sought(container, clock, times, target_s)
            head = next(walk, None)
            if head is not None and head[0] <= first:
                yield head
                yield from walk
                return
    with open_film(path) as container:
        beside_models(container)
        stream = picture_stream(container)
        yield from _matched(decode_packets(container, stream), stream, clock, times, from_start=True)


def _sought(container: InputContainer, clock: Clock, times: Times, target_s: float) -> Iterator[tuple[int, RawFrame]]:
    stamp, stream = clock.origin + int(target_s / clock.tick_s) - 1, picture_stream(container)
    try:
        container.seek(stamp, stream=stream)
    except (av.error.FFmpegError, OSError):
        return
    yield from _matched(decode_packets(container, stream), stream, clock, times, from_start=False)


def _matched(
    flow: Iterator[VideoFrame], stream: VideoStream, clock: Clock, times: Times, from_start: bool
) -> Iterator[tuple[int, RawFrame]]:
    """Yield decoded frames with their index, found by their own stamp.

    Frames that share a stamp are told apart by their order. After a seek this order is not known for the first
    stamp met, so its frames are left out.
    """
    slack_s = max(clock.tick_s * 1e-3, 1e-9)
    last: int | None = None
    ordinal = unstamped = 0
    placed = from_start
    shapes = Shapes(stream.sample_aspect_ratio)
    for frame in flow:
        stamp = stamp_of(frame)
        if stamp is None:
            index = unstamped if from_start and unstamped < clock.unstamped else -1
            unstamped += 1
        else:
            placed = placed or (last is not None and stamp != last)
            ordinal = ordinal + 1 if stamp == last else 0
            last = stamp
            index = _index_of(clock.seconds(stamp) + times[clock.unstamped], times, slack_s, ordinal) if placed else -1
        if index >= 0:
            yield index, RawFrame(index, float(times[index]), frame, shapes.of(frame))


def _index_of(time_s: float, times: Times, slack_s: float, ordinal: int) -> int:
    """Return the index of the `ordinal`-th frame stamped `time_s`, or -1 if `times` does not know that stamp."""
    group = int(np.searchsorted(times, time_s - slack_s))
    if group >= len(times) or abs(times[group] - time_s) > slack_s:
        return -1
    return min(group + ordinal, len(times) - 1)
