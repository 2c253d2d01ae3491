"""The clock of a recording: from the time stamps in a film to seconds from its first shown frame."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain

import av
import numpy as np
from av.container import InputContainer
from av.video.frame import VideoFrame
from av.video.stream import VideoStream
from numpy.typing import NDArray

_DAMAGED = (av.error.FFmpegError, OSError, ValueError)
_NO_MEMORY = (MemoryError, BlockingIOError)
"""Faults of the machine and not of the film: no memory, or none for another thread of the decoder."""


@dataclass(frozen=True, slots=True)
class Clock:
    """How the stamps of one video stream become times.

    Attributes
    ----------
    tick_s
        Length of one unit of the stamps, seconds.
    origin
        Stamp of the earliest frame that carries one.
    unstamped
        Number of frames before it that carry none (some Matroska files cannot write negative times).
    """

    tick_s: float
    origin: int
    unstamped: int = 0

    def seconds(self, stamp: int) -> float:
        """Return the seconds from the earliest stamped frame to `stamp`."""
        return (stamp - self.origin) * self.tick_s


def stamp_of(frame: VideoFrame) -> int | None:
    """Return the presentation stamp of a decoded frame, or its decoding stamp where it has none."""
    return frame.pts if frame.pts is not None else frame.dts


def decode_packets(container: InputContainer, stream: VideoStream) -> Iterator[VideoFrame]:
    """Decode all frames that can be decoded, stepping over packets that cannot.

    Packets known to be damaged are not handed to the decoder: with several threads an error takes whole frames
    around it along.
    """
    packets = container.demux(stream)
    while True:
        try:
            packet = next(packets)
        except StopIteration:
            return
        except _DAMAGED:
            yield from _drained(stream)
            return
        if packet.is_corrupt:
            continue
        try:
            yield from packet.decode()
        except _NO_MEMORY:
            raise
        except _DAMAGED:
            continue


def _drained(stream: VideoStream) -> list[VideoFrame]:
    try:
        return stream.decode(None)
    except _NO_MEMORY:
        raise
    except _DAMAGED:
        return []


def clock_of(container: InputContainer, stream: VideoStream) -> Clock | None:
    """Find the clock of a stream by decoding up to its first stamped frame, or None if no frame can be decoded.

    The container is read from where it stands, which must be its start.
    """
    return begun(container, stream)[0]


def begun(container: InputContainer, stream: VideoStream) -> tuple[Clock | None, Iterator[VideoFrame]]:
    """Find the clock of a stream, as `clock_of` does, and give all its frames from the start, none of them lost."""
    flow = decode_packets(container, stream)
    read: list[VideoFrame] = []
    for frame in flow:
        read.append(frame)
        stamp = stamp_of(frame)
        if stamp is not None:
            return Clock(tick_s=tick_of(stream), origin=stamp, unstamped=len(read) - 1), chain(read, flow)
    return None, iter(read)


def tick_of(stream: VideoStream) -> float:
    """Return the length of one unit of the stamps of `stream`, seconds."""
    return float(stream.time_base) if stream.time_base else 1e-6


def typical_gap(gaps_s: NDArray[np.float64]) -> float:
    """Return the typical gap between frames, seconds: the mean of those within a tenth of their median.

    Stamps in whole milliseconds make 33 and 34 of a thirtieth; the median alone would drift by 10 ms a second.

    Examples
    --------
    >>> round(typical_gap(np.array([0.033, 0.033, 0.034, 0.5])), 6)
    0.033333
    """
    if not len(gaps_s):
        return 1 / 30
    median = float(np.median(gaps_s))
    near = gaps_s[np.abs(gaps_s - median) <= 0.1 * median]
    return float(np.mean(near)) if len(near) else median


def rising(stamped_s: NDArray[np.float64], unstamped: int = 0) -> NDArray[np.float64]:
    """Make strictly rising times from seconds that may repeat, and put the unstamped frames before them.

    Frames that share one stamp are spread evenly over the gap up to the next stamp (over the typical gap at the
    end), so that each stays within the time in which its own stamp is the newest. The frames without a stamp are
    put before the first stamp, a typical gap apart. The first frame is at 0.

    Parameters
    ----------
    stamped_s
        Times by stamp, shape ``(frame,)``, seconds, sorted; repeats allowed.
    unstamped
        Number of frames without a stamp that come first.

    Examples
    --------
    >>> rising(np.array([0.0, 1.0, 1.0, 2.0])).tolist()
    [0.0, 1.0, 1.5, 2.0]
    >>> rising(np.array([0.0, 1.0]), unstamped=2).tolist()
    [0.0, 1.0, 2.0, 3.0]
    """
    known, group, size = np.unique(stamped_s, return_inverse=True, return_counts=True)
    gaps = np.diff(known)
    typical = typical_gap(gaps)
    ordinal = np.arange(len(stamped_s)) - np.concatenate([[0], np.cumsum(size)[:-1]])[group]
    step = np.append(gaps, typical) / size
    times = known[group] + ordinal * step[group]
    before = known[0] - typical * np.arange(unstamped, 0, -1) if len(known) else np.empty(0)
    every = np.concatenate([before, times])
    return np.asarray(every - every[0], dtype=np.float64)
