"""Still pictures of a film."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from functools import lru_cache, partial
from pathlib import Path
from typing import Final

import av
import numpy as np
from av.container import InputContainer
from av.video.frame import VideoFrame
from numpy.typing import NDArray

from review.capture.clock import Clock, clock_of, decode_packets, stamp_of
from review.capture.film import beside_models, open_film, picture_stream
from review.capture.probe import probe
from review.capture.refusals import Refusal
from review.capture.upright import shape_of, upright

_QUALITY: Final = 88
_SEEK_BEYOND_S: Final = 3.0
_SMALL_PX: Final = 160
"""Pictures no higher than this are many, and are made in haste."""
_SLACK_S: Final = 1e-6


def still(path: Path, time_s: float, height_px: int, mirrored: bool = False) -> bytes:
    """Return the frame that is shown at a time as JPEG, upright; see `stills`."""
    return stills(path, [time_s], height_px, mirrored)[0]


def stills(path: Path, times_s: Sequence[float], height_px: int, mirrored: bool = False) -> list[bytes]:
    """Return the frames that are shown at some times as JPEG, upright, in the order of `times_s`.

    Before the first frame the first one is taken, after the end the last one. The film is gone through once, with
    jumps over stretches of more than three seconds.

    Parameters
    ----------
    path
        The film.
    times_s
        Times on the recording's clock, seconds.
    height_px
        Height of the pictures; small films are not enlarged.
    mirrored
        Whether the film shows the room mirrored; its pictures are then flipped so that left is left.

    Raises
    ------
    FilmRefused
        If no frame can be read.
    """
    clock, codec = _beginning(path, path.stat().st_mtime_ns if path.is_file() else 0)
    if clock is None:
        raise Refusal.NO_FRAME.of(path, codec=codec)
    times = probe(path)[1] if clock.unstamped else np.zeros(1)
    zero_s = float(times[clock.unstamped])
    before = times[: clock.unstamped] - zero_s
    made: dict[float, bytes] = {}
    look = partial(_jpeg, height_px=height_px, mirrored=mirrored)
    small = height_px <= _SMALL_PX
    with _opened(path, small) as container:
        for group in _groups(sorted(set(times_s))):
            asked = [time_s - zero_s for time_s in group]
            found = dict(_shown(container, clock, before, asked, look, jump=True))
            if len(found) < len(group):
                with _opened(path, small) as anew:
                    found = dict(_shown(anew, clock, before, asked, look, jump=False))
            if not found:
                raise Refusal.NO_FRAME.of(path, codec=codec)
            made |= {time_s: found[time_s - zero_s] for time_s in group}
    return [made[time_s] for time_s in times_s]


def _opened(path: Path, small: bool) -> InputContainer:
    """Open a film to look at some of its frames; for small pictures what smooths the edges of blocks is left out.

    That takes a quarter of the decoding. In the first eight seconds of 11 films of H.264, pictures of 120 pixels
    differed by 35 to 69 dB (peak signal to noise), in most by no more than JPEG itself takes from them.
    """
    container = open_film(path)
    beside_models(container)
    if small:
        picture_stream(container).codec_context.options = {"skip_loop_filter": "all"}
    return container


@lru_cache(maxsize=256)
def _beginning(path: Path, changed_ns: int) -> tuple[Clock | None, str]:
    """Return the clock of a film, as it was when last changed, and the name of its codec."""
    with open_film(path, threads=False) as container:
        stream = picture_stream(container)
        return clock_of(container, stream), stream.codec_context.codec.canonical_name


def _groups(times_s: list[float]) -> Iterator[list[float]]:
    """Split rising times where the way to the next is long."""
    cuts = [place for place in range(1, len(times_s)) if times_s[place] - times_s[place - 1] > _SEEK_BEYOND_S]
    for low, high in zip([0, *cuts], [*cuts, len(times_s)], strict=True):
        if high > low:
            yield times_s[low:high]


def _shown(
    container: InputContainer,
    clock: Clock,
    before: NDArray[np.float64],
    times_s: list[float],
    look: Callable[[VideoFrame, Fraction | None], bytes],
    jump: bool,
) -> Iterator[tuple[float, bytes]]:
    """Yield the picture shown at each of the rising times, from a key frame on or from the start.

    `before` holds the times of the frames that come first and carry no stamp.
    """
    waiting = list(times_s)
    shown: VideoFrame | None = None
    aspect = picture_stream(container).sample_aspect_ratio
    for time_s, frame in _timed(container, clock, before, times_s[0] if jump else 0.0):
        if shown is None and jump and time_s > times_s[0] + _SLACK_S:
            return
        while waiting and waiting[0] < time_s - _SLACK_S:
            yield waiting.pop(0), look(shown or frame, aspect)
        if not waiting:
            return
        shown = frame
    if shown is not None:
        for each in waiting:
            yield each, look(shown, aspect)


def _timed(
    container: InputContainer, clock: Clock, before: NDArray[np.float64], from_s: float
) -> Iterator[tuple[float, VideoFrame]]:
    """Yield frames with their times, from a key frame near `from_s` on; none if the film cannot be sought."""
    stream = picture_stream(container)
    if from_s > 0:
        try:
            container.seek(clock.origin + int(from_s / clock.tick_s), stream=stream)
        except (av.error.FFmpegError, OSError):
            return
    for number, frame in enumerate(decode_packets(container, stream)):
        stamp = stamp_of(frame)
        if stamp is not None:
            yield clock.seconds(stamp), frame
        elif number < len(before):
            yield float(before[number]), frame


def _jpeg(frame: VideoFrame, aspect: Fraction | None, height_px: int, mirrored: bool) -> bytes:
    import cv2

    shape = shape_of(frame, aspect)
    width, height = shape.shown
    scale = min(1.0, height_px / height)
    picture = upright(frame, shape, max(1, round(width * scale)), max(1, round(height * scale)), mirrored)
    _, coded = cv2.imencode(".jpg", picture[:, :, ::-1], [cv2.IMWRITE_JPEG_QUALITY, _QUALITY])
    return coded.tobytes()
