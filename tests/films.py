"""Small films for tests, made on the spot: every frame carries its own number and shows which side is up."""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
import numpy.typing as npt
from av.stream import Disposition
from av.video.frame import VideoFrame

from review.capture.refusals import Refusal

Picture = npt.NDArray[np.uint8]

BITS = 8
TICK = Fraction(1, 90_000)
SOUND_HZ = 48_000

_PICTURE_FORMATS = {".gif": "gif", ".webp": "webp", ".avif": "avif"}


def numbered(number: int, width: int = 128, height: int = 96) -> Picture:
    """Return a picture that shows `number` as black and white bars below, red above left and blue above right."""
    picture = np.zeros((height, width, 3), np.uint8)
    picture[: height // 2, : width // 2] = (220, 30, 30)
    picture[: height // 2, width // 2 :] = (30, 30, 220)
    for bit in range(BITS):
        low, high = bit * width // BITS, (bit + 1) * width // BITS
        picture[height // 2 :, low:high] = 235 if number >> bit & 1 else 20
    return picture


def number_in(picture: Picture) -> int:
    """Read the number back from a picture made by `numbered`, after any scaling and encoding."""
    height, width = picture.shape[:2]
    row = picture[int(height * 0.75)].mean(axis=1)
    centres = [int((bit + 0.5) * width / BITS) for bit in range(BITS)]
    return sum(1 << bit for bit, place in enumerate(centres) if row[place] > 128)


def is_upright(picture: Picture) -> bool:
    """Tell whether a picture made by `numbered` stands upright and unmirrored: red is above left."""
    height, width = picture.shape[:2]
    left, right = picture[height // 4, width // 4].astype(int), picture[height // 4, 3 * width // 4].astype(int)
    return bool(left[0] > left[2] + 60 and right[2] > right[0] + 60)


def even_times(frames: int, rate_hz: float = 30.0) -> list[float]:
    """Return the times of a film with an even rate, seconds."""
    return [number / rate_hz for number in range(frames)]


@contextmanager
def same_schedule() -> Iterator[None]:
    """Give the calling thread back its place among the system's threads.

    The encoder SVT-AV1 puts whoever opens it under SCHED_FIFO 99 where it may, and leaves it there: with all that is
    started from then on, it takes the machine from everything else.
    """
    if not hasattr(os, "sched_getscheduler"):
        yield
        return
    policy, parameters = os.sched_getscheduler(0), os.sched_getparam(0)
    try:
        yield
    finally:
        os.sched_setscheduler(0, policy, parameters)


@same_schedule()
def make_film(
    path: Path,
    times_s: Sequence[float],
    size: tuple[int, int] = (128, 96),
    codec: str = "libx264",
    pixels: str = "yuv420p",
    turn_deg: int = 0,
    flipped: bool = False,
    sound: npt.NDArray[np.float64] | None = None,
    sound_from_s: float = 0.0,
    picture: Callable[[int], Picture] | None = None,
    aspect: Fraction | None = None,
    gop: int = 12,
    b_frames: int = 0,
    container: dict[str, str] | None = None,
    restamp: Callable[[int], int] | None = None,
    tick: Fraction = TICK,
    metadata: dict[str, str] | None = None,
) -> Path:
    """Write a film and return its path.

    Parameters
    ----------
    path
        Where; the ending says which container.
    times_s
        Time of every frame by the stamps of the container, seconds.
    size
        Width and height of the upright picture.
    codec, pixels
        Encoder and pixel format.
    turn_deg
        Clockwise turn that the film asks its players for; the picture is stored turned the other way.
    flipped
        Whether the film also asks for a left-right flip after the turn.
    sound
        Mono samples at 48 kHz in -1 to 1, if there is to be sound.
    sound_from_s
        Time of its first sample.
    picture
        Gives the upright picture by number; numbered pictures otherwise.
    aspect
        Pixel aspect.
    gop, b_frames
        Greatest distance of key frames, and number of frames that lean on later ones.
    container
        Options of the container.
    restamp
        Changes the stamps of the written packets, in milliseconds (Matroska and WebM).
    tick
        Unit of the stamps that the encoder is given, seconds.
    metadata
        What the container says of itself; MP4 and MOV keep names of others only with ``movflags=use_metadata_tags``.
    """
    draw = picture or (lambda number: numbered(number % (1 << BITS), *size))
    with av.open(str(path), "w", options=container or {}) as out:
        out.metadata.update(metadata or {})
        stream = _picture_stream(out, codec, pixels, size, turn_deg, gop, b_frames, tick)
        if turn_deg or flipped:
            stream.set_display_rotation(-turn_deg, hflip=flipped)
        if aspect is not None:
            stream.codec_context.sample_aspect_ratio = aspect
        voice = None if sound is None else out.add_stream(_voice_of(path), rate=SOUND_HZ, layout="mono")
        packets: list[Any] = []
        for number, time_s in enumerate(times_s):
            shown = draw(number)[:, ::-1] if flipped else draw(number)
            frame = VideoFrame.from_ndarray(np.ascontiguousarray(np.rot90(shown, turn_deg // 90)), "rgb24")
            frame.pts, frame.time_base = round(time_s / tick), tick
            packets += stream.encode(frame)
        packets += stream.encode(None)
        if voice is not None and sound is not None:
            packets += _voiced(voice, sound, sound_from_s)
        _mux(out, packets, restamp)
    return path


def _picture_stream(
    out: Any, codec: str, pixels: str, size: tuple[int, int], turn_deg: int, gop: int, b_frames: int, tick: Fraction
) -> Any:
    options = {"libx264": {"crf": "18", "preset": "ultrafast", "bf": str(b_frames)}}.get(codec, {})
    stream = out.add_stream(codec, rate=30, options=options)
    stream.width, stream.height = size if turn_deg % 180 == 0 else size[::-1]
    stream.pix_fmt = pixels
    stream.codec_context.time_base = tick
    stream.codec_context.gop_size = gop
    return stream


def _voice_of(path: Path) -> str:
    return "libopus" if path.suffix in (".webm", ".mkv") else "aac"


def _voiced(voice: Any, sound: npt.NDArray[np.float64], from_s: float) -> list[Any]:
    packets: list[Any] = []
    samples = (np.clip(sound, -1, 1) * 32000).astype(np.int16)
    for low in range(0, len(samples), 960):
        piece = np.ascontiguousarray(samples[low : low + 960].reshape(1, -1))
        frame = av.AudioFrame.from_ndarray(piece, format="s16", layout="mono")
        frame.sample_rate, frame.time_base = SOUND_HZ, Fraction(1, SOUND_HZ)
        frame.pts = low + round(from_s * SOUND_HZ)
        packets += voice.encode(frame)
    return [*packets, *voice.encode(None)]


def _mux(out: Any, packets: list[Any], restamp: Callable[[int], int] | None) -> None:
    packets.sort(key=lambda packet: (packet.dts if packet.dts is not None else packet.pts) * packet.time_base)
    for packet in packets:
        if restamp is not None and packet.stream.type == "video":
            stamp = restamp(round(packet.pts * packet.time_base * 1000))
            packet.time_base = Fraction(1, 1000)
            packet.pts = packet.dts = stamp
        out.mux(packet)


def click_at(time_s: float, length_s: float) -> npt.NDArray[np.float64]:
    """Return silence of `length_s` with a burst of 1 kHz, 50 ms long, that starts at `time_s`."""
    times = np.arange(round(length_s * SOUND_HZ)) / SOUND_HZ
    return np.where((times >= time_s) & (times < time_s + 0.05), 0.8 * np.sin(2 * np.pi * 1000 * times), 0.0)


def cut_off(path: Path, share: float) -> Path:
    """Keep the first `share` of a file's bytes, as a broken-off copy does."""
    data = path.read_bytes()
    path.write_bytes(data[: int(len(data) * share)])
    return path


def spoil_packet(path: Path, number: int) -> Path:
    """Overwrite the start of one packet of the picture, in the order of the file, with noise."""
    with av.open(str(path)) as film:
        packet = [packet for packet in film.demux(video=0) if packet.size][number]
        place, size = packet.pos, packet.size
    with path.open("r+b") as file:
        file.seek(place)
        file.write(bytes([255]) * min(size, 64))
    return path


@same_schedule()
def make_picture(path: Path, codec: str, pixels: str, frames: int = 1) -> Path:
    """Write a picture file, or an animated one of ten frames a second, and return its path."""
    with av.open(str(path), "w", format=_PICTURE_FORMATS.get(path.suffix, "image2")) as out:
        stream = out.add_stream(codec, rate=10)
        stream.width, stream.height, stream.pix_fmt = 128, 96, pixels
        for number in range(frames):
            frame = VideoFrame.from_ndarray(numbered(number), "rgb24").reformat(format=pixels)
            frame.pts, frame.time_base = number, Fraction(1, 10)
            out.mux(stream.encode(frame))
        out.mux(stream.encode(None))
    return path


def make_sound_only(folder: Path) -> Path:
    """Write a tenth of a second of sound without any picture into a folder, and return its path."""
    with av.open(str(folder / "voice.m4a"), "w", format="mp4") as out:
        voice = out.add_stream("aac", rate=SOUND_HZ, layout="mono")
        out.mux(_voiced(voice, np.zeros(SOUND_HZ // 10), 0.0))
    return folder / "voice.m4a"


def make_film_of_streams(path: Path, times_s: Sequence[float], small_first: bool = False, cover: bool = False) -> Path:
    """Write a film with a second stream of pictures: a smaller one of grey that comes first, or a cover picture."""
    grey = VideoFrame.from_ndarray(np.full((48, 64, 3), 128, np.uint8), "rgb24")
    with av.open(str(path), "w") as out:
        packets: list[Any] = []
        if small_first:
            small = _picture_stream(out, "libx264", "yuv420p", (64, 48), 0, 12, 0, TICK)
        stream = _picture_stream(out, "libx264", "yuv420p", (128, 96), 0, 12, 0, TICK)
        if cover:
            picture = out.add_stream("mjpeg", rate=1)
            picture.width, picture.height, picture.pix_fmt = 64, 48, "yuvj420p"
            picture.disposition = Disposition.attached_pic
        for number, time_s in enumerate(times_s):
            frame = VideoFrame.from_ndarray(numbered(number), "rgb24")
            frame.pts, frame.time_base = round(time_s / TICK), TICK
            packets += stream.encode(frame)
            if small_first:
                grey.pts, grey.time_base = frame.pts, TICK
                packets += small.encode(grey)
        packets += stream.encode(None) + (small.encode(None) if small_first else [])
        packets += [*picture.encode(grey), *picture.encode(None)] if cover else []
        _mux(out, packets, None)
    return path


def refused_by(error: BaseException) -> Refusal | None:
    """Return the reason of the closed list whose sentence a refusal says, None if it is of no such kind."""
    for reason in Refusal:
        gaps = re.sub(r"\\\{.*?\\\}", ".+", re.escape(reason.value))
        if re.fullmatch(rf"[^/]+: {gaps}", str(error), flags=re.DOTALL):
            return reason
    return None
