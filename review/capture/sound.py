"""The sound of a film on the clock of its picture."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Final

import av
import numpy as np
from av.audio.frame import AudioFrame
from av.audio.resampler import AudioResampler
from av.audio.stream import AudioStream
from av.container import InputContainer
from numpy.typing import NDArray

from review.capture.clock import clock_of
from review.capture.film import open_film, picture_stream, sound_stream

Block = NDArray[np.int16]

LATEST_S: Final = 5 * 3600.0
"""No sound begins later, seconds after the first frame: longer than any film that is taken."""

_FULL_SCALE: Final = np.float32(32_768.0)
_SLACK_S: Final = 0.03
_SILENCE_S: Final = 10
_DAMAGED = (av.error.FFmpegError, OSError, ValueError)


def sound_blocks(
    path: Path, zero_s: float, rate_hz: int, channels: int | None, stop_s: float = LATEST_S
) -> Iterator[Block]:
    """Yield the sound as one unbroken run of samples that starts when the picture's first frame is shown.

    Gaps, and the time before a sound that starts late, are filled with silence; sound from before the first frame
    and sound that overlaps what was already given is dropped. Later jitter of stamps below 0.03 s is ignored.

    Parameters
    ----------
    path
        The film.
    zero_s
        Time of the picture's first frame by the stamps of the container, seconds.
    rate_hz
        Samples a second of the answer.
    channels
        1 or 2; None for as many as the film has, unmixed.
    stop_s
        Seconds after the first frame from which on no sound is begun: a damaged stamp may lie days ahead.

    Yields
    ------
    block
        Shape ``(sample, channel)``.
    """
    given = 0
    for start_s, block in _blocks(path, rate_hz, channels):
        at = given if start_s is None else round((start_s - zero_s) * rate_hz)
        if given and abs(at - given) <= _SLACK_S * rate_hz:
            at = given
        if at >= stop_s * rate_hz:
            continue
        while at > given:
            silent = min(at - given, _SILENCE_S * rate_hz)
            yield np.zeros((silent, block.shape[1]), np.int16)
            given += silent
        fresh = block[given - at :]
        if len(fresh):
            yield fresh
            given += len(fresh)


def picture_zero(path: Path, times: NDArray[np.float64]) -> float | None:
    """Return the time of the picture's first frame by the stamps of the container, seconds; None without a clock.

    Parameters
    ----------
    path
        The film.
    times
        Presentation times of all its frames, shape ``(time,)``, seconds.

    Raises
    ------
    FilmRefused
        If the film cannot be opened.
    """
    with open_film(path, threads=False) as container:
        clock = clock_of(container, picture_stream(container))
    return None if clock is None else clock.origin * clock.tick_s - float(times[clock.unstamped])


def stretch(path: Path, zero_s: float, onset_s: float, offset_s: float, rate_hz: int) -> NDArray[np.float32]:
    """Return the sound between two moments of the film, mixed to mono; parameters as for `sound_blocks`.

    Returns
    -------
    ndarray of float
        Shape ``(sample,)``, -1 to 1; shorter where the sound ends before.
    """
    first, stop = round(onset_s * rate_hz), round(offset_s * rate_hz)
    kept: list[NDArray[np.float32]] = []
    given = 0
    for block in sound_blocks(path, zero_s, rate_hz, 1):
        if given + len(block) > first:
            kept.append(block[max(0, first - given) : stop - given, 0].astype(np.float32) / _FULL_SCALE)
        given += len(block)
        if given >= stop:
            break
    return np.concatenate(kept) if kept else np.empty(0, np.float32)


def own_rate(path: Path) -> int | None:
    """Return the samples a second that the film's sound has as decoded, or None without sound.

    Raises
    ------
    FilmRefused
        If the film cannot be opened.
    """
    with open_film(path, threads=False) as container:
        stream = sound_stream(container)
        if stream is None:
            return None
        return next((frame.sample_rate for frame in _decoded(container, stream) if frame is not None), None)


def _blocks(path: Path, rate_hz: int, channels: int | None) -> Iterator[tuple[float | None, Block]]:
    layout = None if channels is None else "stereo" if channels == 2 else "mono"
    with open_film(path) as container:
        stream = sound_stream(container)
        if stream is None:
            return
        resampler = AudioResampler(format="s16", layout=layout, rate=rate_hz)
        for frame in _decoded(container, stream):
            for out in _resampled(resampler, frame):
                samples = out.to_ndarray().reshape(-1, out.layout.nb_channels)
                start_s = None if out.pts is None or out.time_base is None else float(out.pts * out.time_base)
                yield start_s, np.asarray(samples, dtype=np.int16)


def _resampled(resampler: AudioResampler, frame: AudioFrame | None) -> list[AudioFrame]:
    try:
        return [each for each in resampler.resample(frame) if each is not None]
    except _DAMAGED:
        return []


def _decoded(container: InputContainer, stream: AudioStream) -> Iterator[AudioFrame | None]:
    packets = container.demux(stream)
    while True:
        try:
            packet = next(packets)
        except StopIteration:
            break
        except _DAMAGED:
            break
        try:
            yield from packet.decode()
        except _DAMAGED:
            continue
    yield None
