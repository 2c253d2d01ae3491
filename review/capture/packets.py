"""One pass over the packets of a film: which frames it holds, and which of them can be decoded."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from typing import Any, Final

import av
import numpy as np
from av.container import InputContainer
from av.video.stream import VideoStream
from numpy.typing import NDArray

from review.capture.clock import Clock, decode_packets, stamp_of
from review.capture.film import beside_models, open_film, picture_stream, sound_stream
from review.capture.refusals import Refusal

MOST_FRAMES: Final = 1_000_000
"""Most frames of a film: four hours at 60 a second hold 864,000."""

_BACK_S: Final = 1.0
_RUN: Final = 10
_TRIED_FRAMES: Final = 3000
_LENGTH_AT: Final = {"h264": 4, "hevc": 21}


@dataclass(slots=True)
class Packets:
    """What one pass over the packets found.

    Attributes
    ----------
    stamps
        Presentation stamps of the frames from the first shown one on, sorted; repeats are kept.
    keys
        Those of key frames, sorted.
    suspect
        Those of packets that are flagged as damaged or whose inner lengths do not add up.
    flagged
        Number of packets flagged as damaged, which are not decoded at all.
    hidden
        Number of packets that the container itself says are not shown.
    last_duration
        Duration of the packet that is shown last, in ticks, 0 if unknown.
    sounds
        Number of packets of sound.
    order
        All presentation stamps in the order of the file, those before the first shown frame as well.
    latest
        Stamp of the packet that is shown last, None before any is met.
    """

    stamps: list[int] = field(default_factory=list)
    keys: list[int] = field(default_factory=list)
    suspect: list[int] = field(default_factory=list)
    flagged: int = 0
    hidden: int = 0
    last_duration: int = 0
    sounds: int = 0
    order: list[int] = field(default_factory=list)
    latest: int | None = None


def read_packets(path: Path, clock: Clock) -> Packets:
    """Read all packets of the picture and count those of the sound, without decoding any.

    Raises
    ------
    FilmRefused
        If there are more than `MOST_FRAMES`, or their times begin again in the middle.
    """
    found = Packets()
    with open_film(path) as container:
        picture = picture_stream(container)
        size_of_length = _size_of_length(picture)
        sound = sound_stream(container)
        for packet in demuxed(container, [picture] if sound is None else [picture, sound]):
            if packet.size == 0:
                continue
            if packet.stream_index != picture.index:
                found.sounds += 1
                continue
            _note_packet(found, packet, clock.origin, size_of_length)
            if len(found.stamps) + found.flagged > MOST_FRAMES:
                raise Refusal.TOO_MANY_FRAMES.of(path, most=f"{MOST_FRAMES:,}")
    if begins_again(np.array(found.order, dtype=np.float64) * clock.tick_s):
        raise Refusal.BEGINS_AGAIN.of(path)
    found.stamps.sort()
    found.keys.sort()
    return found


def begins_again(stamps_s: NDArray[np.float64]) -> bool:
    """Tell whether the times of a film begin again in the middle, as when films are joined byte after byte.

    A single damaged time that jumps ahead and back is no new beginning: what follows it lies after what came before.

    Parameters
    ----------
    stamps_s
        Times of the packets in the order of the file, shape ``(packet,)``, seconds.

    Examples
    --------
    >>> times = np.arange(60) / 30
    >>> begins_again(np.concatenate([times, times + 0.4]))
    True
    >>> begins_again(np.concatenate([times[:30], [500.0], times[30:]]))
    False
    """
    back = np.flatnonzero(np.diff(stamps_s) < -_BACK_S)
    runs = [run for run in np.split(stamps_s, back + 1) if len(run) >= _RUN]
    return any(np.median(one) > other.min() for one, other in pairwise(runs))


def demuxed(container: InputContainer, streams: list[Any]) -> Any:
    """Yield the packets of some streams up to the end or to where the film cannot be read any further."""
    packets = container.demux(streams)
    while True:
        try:
            yield next(packets)
        except (StopIteration, av.error.FFmpegError, OSError):
            return


def _note_packet(found: Packets, packet: Any, origin: int, size_of_length: int) -> None:
    stamp = packet.pts if packet.pts is not None else packet.dts
    if packet.is_discard:
        found.hidden += 1
        return
    if stamp is None:
        return
    found.order.append(stamp)
    if stamp >= origin:
        _note_shown(found, packet, stamp, size_of_length)


def _note_shown(found: Packets, packet: Any, stamp: int, size_of_length: int) -> None:
    if packet.is_corrupt:
        found.flagged += 1
        found.suspect.append(stamp)
        return
    if found.latest is None or stamp > found.latest:
        found.latest, found.last_duration = stamp, packet.duration or 0
    found.stamps.append(stamp)
    if packet.is_keyframe:
        found.keys.append(stamp)
    if size_of_length and not _adds_up(memoryview(packet), size_of_length):
        found.suspect.append(stamp)


def _size_of_length(stream: VideoStream) -> int:
    """Return how many bytes give the length of each unit inside a packet, 0 where units are not so packed."""
    extra = stream.codec_context.extradata
    at = _LENGTH_AT.get(stream.codec_context.codec.canonical_name)
    if at is None or extra is None or len(extra) <= at or extra[0] != 1:
        return 0
    return (extra[at] & 3) + 1


def _adds_up(data: memoryview, size_of_length: int) -> bool:
    place, end = 0, len(data)
    while place + size_of_length <= end:
        place += size_of_length + int.from_bytes(data[place : place + size_of_length], "big")
    return place == end


def decodable(path: Path, clock: Clock, found: Packets) -> list[int]:
    """Return the stamps of `found` without those that do not come when suspicious stretches are decoded.

    Tried are the stretches between key frames that hold a suspect, and the one after the last key frame. Where a key
    frame shares its stamp with frames before it, those are not met from it on, and its stamp is not judged.
    """
    if not found.stamps:
        return [clock.origin]
    left = Counter(found.stamps)
    tried = 0
    for low, high in _stretches(found):
        size = bisect_left(found.stamps, high) - bisect_left(found.stamps, low)
        tried += size
        if tried > _TRIED_FRAMES:
            break
        came = _came(path, low, high, from_start=low == found.stamps[0])
        if came is None:
            continue
        for stamp in {each for each in left if low <= each < high}:
            if stamp > low or low == found.stamps[0] or left[stamp] == 1:
                left[stamp] = min(left[stamp], came[stamp])
    kept = sorted(left.elements())
    return kept or [clock.origin]


def _stretches(found: Packets) -> list[tuple[int, int]]:
    """Return the suspicious stretches as [low, high) in stamps, the last one first."""
    edges = [found.stamps[0], *(key for key in found.keys if key > found.stamps[0]), found.stamps[-1] + 1]
    places = {len(edges) - 2} | {bisect_right(edges, stamp) - 1 for stamp in found.suspect}
    inside = sorted((place for place in places if 0 <= place < len(edges) - 1), reverse=True)
    return [(edges[place], edges[place + 1]) for place in inside]


def _came(path: Path, low: int, high: int, from_start: bool) -> Counter[int] | None:
    """Decode the stretch and count the frames by stamp; None if it cannot be reached by seeking."""
    came: Counter[int] = Counter()
    with open_film(path) as container:
        beside_models(container)
        stream = picture_stream(container)
        try:
            if not from_start:
                container.seek(low, stream=stream)
        except (av.error.FFmpegError, OSError):
            return None
        for frame in decode_packets(container, stream):
            stamp = stamp_of(frame)
            if stamp is None:
                continue
            if stamp >= high:
                break
            came[stamp] += 1
    return came if from_start or (came and min(came) <= low) else None
