"""Make a long film out of short ones, as a phone would have written it: H.264, a key frame every second, AAC.

Run: ``python -m tests.benchmarks.long_film OUT --minutes 8 --size 1280x720 CLIP [CLIP ...]``

Every clip is read once, fitted into the size with black around it and encoded anew at its own times; then the packets
are repeated until the film is long enough, so that half an hour costs no more than its first round. The clips' own
sound goes along, silence where a clip has none.
"""

from __future__ import annotations

import argparse
from collections import deque
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
import numpy.typing as npt
from av.audio.frame import AudioFrame
from av.video.frame import VideoFrame

from review.capture.intake import probe
from review.capture.video import fitted, frames

TICK = Fraction(1, 90_000)
SOUND_HZ = 48_000
_AT_ONCE = 1024


def pictures(clips: list[Path], size: tuple[int, int]) -> Iterator[tuple[float, npt.NDArray[np.uint8]]]:
    """Give all frames of all clips one after the other, with their times in seconds."""
    start = 0.0
    for clip in clips:
        facts, times = probe(clip)
        for frame in frames(clip, times, 0, len(times), max(size)):
            yield start + frame.time_s, framed(frame.picture, size)
        start += facts.duration_s


def framed(picture: npt.NDArray[np.uint8], size: tuple[int, int]) -> npt.NDArray[np.uint8]:
    """Fit a picture into `size` (width, height) with black around it."""
    import cv2

    height, width = picture.shape[:2]
    scale = min(size[0] / width, size[1] / height)
    across, down = fitted((round(width * scale), round(height * scale)), max(size))
    whole = np.zeros((size[1], size[0], 3), np.uint8)
    left, top = (size[0] - across) // 2, (size[1] - down) // 2
    whole[top : top + down, left : left + across] = cv2.resize(picture, (across, down))
    return whole


def encoded(clips: list[Path], size: tuple[int, int]) -> tuple[Any, list[tuple[bytes, int, int, bool]], float]:
    """Encode one round of the clips; return the encoder's stream settings, the packets, and the length in seconds."""
    context = av.CodecContext.create("libx264", "w")
    context.width, context.height, context.pix_fmt, context.time_base = *size, "yuv420p", TICK
    context.options = {"preset": "veryfast", "crf": "23", "bf": "0", "g": "30", "x264-params": "repeat-headers=1"}
    packets, last_s = [], 0.0
    for time_s, picture in pictures(clips, size):
        frame = VideoFrame.from_ndarray(picture, format="rgb24")
        frame.pts, frame.time_base = round(time_s / TICK), TICK
        packets += context.encode(frame)
        last_s = time_s
    packets += context.encode(None)
    kept = [(bytes(packet), packet.pts, packet.dts, packet.is_keyframe) for packet in packets]
    return context, kept, last_s + 1 / 30


def sound_of(clips: list[Path]) -> npt.NDArray[np.int16]:
    """Return the sound of all clips one after the other, each at its own times: mono, `SOUND_HZ`, shape ``(time,)``."""
    parts = []
    for clip in clips:
        facts, _ = probe(clip)
        part = np.zeros(round(facts.duration_s * SOUND_HZ), np.int16)
        with av.open(str(clip)) as film:
            resampler = av.AudioResampler("s16", "mono", SOUND_HZ)
            for frame in film.decode(audio=0) if film.streams.audio else ():
                at = round(float(frame.time or 0.0) * SOUND_HZ)
                for piece in resampler.resample(frame):
                    heard = piece.to_ndarray()[0][: max(0, len(part) - at)]
                    part[at : at + len(heard)] = heard
                    at += len(heard)
        parts.append(part)
    return np.concatenate(parts)


def with_sound(film: Any, stream: Any, sound: npt.NDArray[np.int16], seconds: float) -> Iterator[float]:
    """Write the sound again and again for so many seconds; yields after each piece how far it is, in seconds."""
    for at in range(0, round(seconds * SOUND_HZ), _AT_ONCE):
        samples = np.take(sound, np.arange(at, at + _AT_ONCE), mode="wrap")
        frame = AudioFrame.from_ndarray(samples[None], format="s16", layout="mono")
        frame.sample_rate, frame.pts, frame.time_base = SOUND_HZ, at, Fraction(1, SOUND_HZ)
        film.mux(stream.encode(frame))
        yield (at + _AT_ONCE) / SOUND_HZ
    film.mux(stream.encode(None))
    yield seconds


def write(out: Path, clips: list[Path], size: tuple[int, int], seconds: float) -> None:
    """Write the film."""
    context, round_, length_s = encoded(clips, size)
    with av.open(str(out), "w", options={"movflags": "faststart"}) as film:
        stream = film.add_stream("libx264", rate=30)
        stream.width, stream.height, stream.pix_fmt = *size, "yuv420p"
        stream.codec_context.time_base = stream.time_base = TICK
        stream.codec_context.extradata = context.extradata
        track = film.add_stream("aac", rate=SOUND_HZ, layout="mono")
        heard, heard_s = with_sound(film, track, sound_of(clips), seconds), 0.0
        start = 0
        while start * TICK < seconds:
            for data, pts, dts, key in round_:
                packet = av.Packet(data)
                packet.pts, packet.dts, packet.is_keyframe = pts + start, dts + start, key
                packet.time_base, packet.stream = TICK, stream
                while heard_s < min(packet.pts * TICK, seconds):
                    heard_s = next(heard)
                if packet.pts * TICK < seconds:
                    film.mux(packet)
            start += round(length_s / TICK)
        deque(heard, maxlen=0)


def main() -> None:
    """Make the film asked for."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("out", type=Path)
    parser.add_argument("clips", type=Path, nargs="+")
    parser.add_argument("--minutes", type=float, default=8.0)
    parser.add_argument("--size", default="1280x720")
    args = parser.parse_args()
    width, height = (int(part) for part in args.size.split("x"))
    write(args.out, args.clips, (width, height), args.minutes * 60)


if __name__ == "__main__":
    main()
