"""One pass over the packets of a film: which frames it holds, and which of them can be decoded."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

import av
from av.container import InputContainer
from av.video.stream import VideoStream

from review.capture.clock import Clock, decode_packets, stamp_of
from review.capture.film import beside_models, open_film, picture_stream, sound_stream
from review.capture.refusals import Refusal

MOST_FRAMES: Final = 1_000_000
"""Most frames of a film: four hours at 60 a second hold 864,000."""

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
    """

    stamps: list[int] = field(default_factory=list)
    keys: list[int] = field(default_factory=list)
    suspect: list[int] = field(default_factory=list)
    flagged: int = 0
    hidden: int = 0
    last_duration: int = 0
    sounds: int = 0


def read_packets(path: Path, clock: Clock) -> Packets:
    """Read all packets of the picture and count those of the sound, without decoding any.

    Raises
    ------
    FilmRefused
        If there are more than `MOST_FRAMES`.
    """
    found = Packets()
    with open_film(path) as container:
        picture = picture_stream(container)
        size_of_length = _size_of_length(picture)
        sound = sound_stream(container)
        latest = clock.origin - 1
        for packet in demuxed(container, [picture] if sound is None else [picture, sound]):
            if packet.size == 0:
                continue
            if packet.stream_index != picture.index:
                found.sounds += 1
                continue
            stamp = packet.pts if packet.pts is not None else packet.dts
            if packet.is_discard:
                found.hidden += 1
            elif stamp is not None and stamp >= clock.origin:
                _note_packet(found, packet, stamp, size_of_length)
                if len(found.stamps) + found.flagged > MOST_FRAMES:
                    raise Refusal.TOO_MANY_FRAMES.of(path, most=f"{MOST_FRAMES:,}")
                if stamp > latest and not packet.is_corrupt:
                    latest, found.last_duration = stamp, packet.duration or 0
    found.stamps.sort()
    found.keys.sort()
    return found


def demuxed(container: InputContainer, streams: list[Any]) -> Any:
    """Yield the packets of some streams up to the end or to where the film cannot be read any further."""
    packets = container.demux(streams)
    while True:
        try:
            yield next(packets)
        except (StopIteration, av.error.FFmpegError, OSError):
            return


def _note_packet(found: Packets, packet: Any, stamp: int, size_of_length: int) -> None:
    if packet.is_corrupt:
        found.flagged += 1
        found.suspect.append(stamp)
        return
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
