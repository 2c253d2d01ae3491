"""Facts of a film and the presentation times of its frames, read from the container."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Final, Literal

import av
import numpy as np
from av.container import InputContainer
from av.video.stream import VideoStream
from numpy.typing import NDArray

from review.capture.clock import Clock, decode_packets, rising, stamp_of, tick_of, typical_gap
from review.capture.film import open_film, picture_stream
from review.capture.packets import Packets, decodable, read_packets
from review.capture.refusals import Refusal
from review.capture.slowness import filmed_hz, slowness_notes, times_slower
from review.capture.tone import is_hdr
from review.capture.upright import Shape, shape_of

Playback = Literal["as is", "remux", "transcode"]

MOST_S: Final = 4 * 3600.0
"""Longest film, seconds: a check-off takes minutes, and a whole afternoon is four hours."""

_SIDES_PX: Final = (16, 16384)
_RATIO: Final = 20
_AREA_PX: Final = 8192 * 4320
_EARLY_S: Final = 0.9
_EARLY_MUTE_S: Final = 0.3
_GAP_S: Final = 0.5
_GAP_FRAMES: Final = 5.0
_HDR_NOTE: Final = "The film is HDR: its copy for the browser is toned down."
_BLOCK: Final = 1 << 20


@dataclass(frozen=True, slots=True)
class FilmFacts:
    """What the container and the first frame of a film say.

    Attributes
    ----------
    codec, bit_depth
        Name of the picture's codec, bits of a colour component.
    width_px, height_px
        Size as displayed: pixel aspect and rotation applied.
    rotation_deg
        Clockwise turn needed to show the stored picture upright: 0, 90, 180 or 270.
    duration_s
        From the first frame to the end of the last one, seconds.
    frames
        Number of frames that can be shown.
    has_sound
        Whether there is a sound stream with anything in it.
    size_bytes
        Size of the file.
    playback
        What a browser needs to play it on the clock of the recording: the file as it is, its picture in a new
        container, or a new encoding.
    notes
        What a person should know about the film, one sentence each.
    slow_motion
        How many times slower than life it plays, going by what the camera says it filmed; 1 where nothing is said.
        It is a hint: some cameras say it of films that play at the speed of life.
    """

    codec: str
    bit_depth: int
    width_px: int
    height_px: int
    rotation_deg: int
    duration_s: float
    frames: int
    has_sound: bool
    size_bytes: int
    playback: Playback
    notes: tuple[str, ...]
    slow_motion: float = 1.0


@dataclass(frozen=True, slots=True)
class _Picture:
    """What the header and the first frame say about the picture."""

    codec: str
    depth: int
    pixels: str
    shape: Shape
    clock: Clock
    promised: int
    streams: int
    brand: str
    stated_end_s: float
    filmed_hz: float
    hdr: bool


def probe(path: Path) -> tuple[FilmFacts, NDArray[np.float64]]:
    """Read the facts of a film and the times of all frames that can be shown.

    All packets are read, few are decoded. Decoded are: the first frame, the stretch after the last key frame, and
    every stretch between key frames that holds a packet flagged as damaged or, in H.264 and HEVC, whose inner
    lengths do not add up; of each, the frames that do not come are left out (stretches of up to 3000 frames in
    all are tried). A frame whose damage shows nowhere in the container is still listed; it is missing when the film
    is read.

    Parameters
    ----------
    path
        The film.

    Returns
    -------
    facts
        See `FilmFacts`.
    times
        Shape ``(frame,)``, seconds from the first shown frame, strictly rising. Frames that share one stamp are
        spread over the gap to the next stamp.

    Raises
    ------
    FilmRefused
        If it is no film with a frame that can be shown, or larger or longer than what is taken.
    """
    picture = _picture_of(path)
    clock = picture.clock
    found = read_packets(path, clock)
    stamps = decodable(path, clock, found)
    _check_length(path, picture, stamps)
    times = rising((np.array(stamps, dtype=np.float64) - clock.origin) * clock.tick_s, clock.unstamped)
    width, height = picture.shape.shown
    facts = FilmFacts(
        codec=picture.codec,
        bit_depth=picture.depth,
        width_px=width,
        height_px=height,
        rotation_deg=90 * picture.shape.quarters,
        duration_s=float(times[-1]) + _last_s(times, found.last_duration * clock.tick_s),
        frames=len(times),
        has_sound=found.sounds > 0,
        size_bytes=path.stat().st_size,
        playback=_playback(path, picture, found, stamps),
        notes=(
            *_notes(picture, found, stamps, float(times[-1])),
            *_gap_notes(times),
            *slowness_notes(picture.filmed_hz, times),
        ),
        slow_motion=times_slower(picture.filmed_hz, times),
    )
    return facts, times


def _picture_of(path: Path) -> _Picture:
    with open_film(path, threads=False) as container:
        stream = picture_stream(container)
        codec = stream.codec_context.codec.canonical_name
        _check_size(path, stream.width, stream.height)
        picture = _first_frame(container, stream)
    if picture is None:
        raise Refusal.NO_FRAME.of(path, codec=codec)
    _check_size(path, *picture.shape.shown)
    return picture


def _first_frame(container: InputContainer, stream: VideoStream) -> _Picture | None:
    for unstamped, frame in enumerate(decode_packets(container, stream)):
        stamp = stamp_of(frame)
        if stamp is not None:
            return _Picture(
                codec=stream.codec_context.codec.canonical_name,
                depth=frame.format.components[0].bits,
                pixels=frame.format.name,
                shape=shape_of(frame, stream.sample_aspect_ratio),
                clock=Clock(tick_of(stream), stamp, unstamped),
                promised=stream.frames,
                streams=len(container.streams.video),
                brand=container.metadata.get("major_brand", ""),
                stated_end_s=_stated_end_s(container) - stamp * tick_of(stream),
                filmed_hz=filmed_hz(container),
                hdr=is_hdr(frame),
            )
    return None


def _stated_end_s(container: InputContainer) -> float:
    if container.duration is None:
        return -np.inf
    return ((container.start_time or 0) + container.duration) / av.time_base


def _check_size(path: Path, width: int, height: int) -> None:
    low, high = _SIDES_PX
    short, long = sorted((width, height))
    if not (low <= short and long <= high and long <= _RATIO * short):
        raise Refusal.ABSURD_SIZE.of(path, width=width, height=height, low=low, high=high, ratio=_RATIO)
    if width * height > _AREA_PX:
        raise Refusal.TOO_LARGE.of(path, width=width, height=height)


def _check_length(path: Path, picture: _Picture, stamps: list[int]) -> None:
    if picture.codec == "gif" and len(stamps) == 1:
        raise Refusal.A_PICTURE.of(path)
    lasts_s = (stamps[-1] - stamps[0]) * picture.clock.tick_s
    if lasts_s > MOST_S:
        raise Refusal.LASTS_TOO_LONG.of(path, hours=lasts_s / 3600, most=round(MOST_S / 3600))


def _last_s(times: NDArray[np.float64], said_s: float) -> float:
    """Return how long the last frame is shown: as the container says if that is believable, else a typical gap."""
    typical = typical_gap(np.diff(times))
    return said_s if 0 < said_s < 10 * typical else typical


def _playback(path: Path, picture: _Picture, found: Packets, stamps: list[int]) -> Playback:
    common = picture.codec == "h264" and picture.pixels in ("yuv420p", "yuvj420p") and not picture.hdr
    unharmed = len(found.stamps) == len(stamps) and len(found.suspect) == found.flagged
    plain = not picture.shape.flipped and not found.hidden and unharmed
    even = len(set(stamps)) == len(stamps) and not picture.clock.unstamped
    if not (common and plain and even):
        return "transcode"
    mp4 = picture.brand not in ("", "qt  ") and picture.streams == 1 and _index_first(path)
    whole = picture.promised in (0, len(stamps))
    return "as is" if mp4 and whole and picture.clock.origin == 0 else "remux"


def _index_first(path: Path) -> bool:
    """Tell whether the index (moov) of an MP4 film comes before its pictures, so that it can start at once."""
    with path.open("rb") as file:
        while len(head := file.read(8)) == 8:
            size, kind = int.from_bytes(head[:4], "big"), head[4:]
            if kind in (b"moov", b"mdat"):
                return kind == b"moov"
            if size == 1:
                size = int.from_bytes(file.read(8), "big") - 8
            if size < 8:
                return False
            file.seek(size - 8, 1)
    return False


def _notes(picture: _Picture, found: Packets, stamps: list[int], last_s: float) -> list[str]:
    notes = [_HDR_NOTE] if picture.hdr else []
    shown, clock = len(stamps) + picture.clock.unstamped, picture.clock
    stored = max(picture.promised - found.hidden, len(found.stamps) + found.flagged + clock.unstamped)
    lost_inside = len(found.stamps) - len(stamps)
    cut_off = stored - shown - lost_inside
    if cut_off > 0:
        notes.append(f"The film ends early: {shown} of {stored} frames.")
    elif picture.stated_end_s - last_s > (_EARLY_S if found.sounds else _EARLY_MUTE_S):
        notes.append(f"The picture ends early: at {last_s:.1f} of {picture.stated_end_s:.1f} seconds.")
    if lost_inside > 0:
        notes.append(f"The film is damaged: {lost_inside} of {stored} frames cannot be shown.")
    if found.hidden:
        notes.append(
            f"{found.hidden} stored frames lie outside the cut that the film itself makes; they are not shown."
        )
    repeated = len(stamps) - len(set(stamps))
    if repeated:
        notes.append(f"{repeated} frames repeat the time of the frame before; they are spread up to the next time.")
    if clock.unstamped:
        notes.append(f"{clock.unstamped} frames at the start carry no time; a typical gap is assumed between them.")
    return notes


def _gap_notes(times: NDArray[np.float64]) -> list[str]:
    gaps = np.diff(times)
    if not len(gaps):
        return []
    wide = gaps > max(_GAP_S, _GAP_FRAMES * float(np.median(gaps)))
    if not wide.any():
        return []
    at = int(np.argmax(gaps))
    times_over = f" This happens {int(wide.sum())} times; this is the longest." if wide.sum() > 1 else ""
    return [f"The picture stands still for {gaps[at]:.1f} seconds from {times[at]:.1f} seconds on.{times_over}"]


def fingerprint(path: Path, progress: Callable[[float], None] | None = None) -> str:
    """Return the SHA-256 of a file in hexadecimal digits, reading it piece by piece.

    Parameters
    ----------
    path
        The file.
    progress
        Called with the share that is done, 0 to 1.

    Raises
    ------
    FilmRefused
        If the file cannot be read.
    """
    digest, done = sha256(), 0
    try:
        size = max(1, path.stat().st_size)
        with path.open("rb") as file:
            while block := file.read(_BLOCK):
                digest.update(block)
                done += len(block)
                if progress is not None:
                    progress(min(1.0, done / size))
    except OSError as fault:
        raise Refusal.NOT_READABLE.of(path, reason=fault.strerror) from fault
    return digest.hexdigest()
