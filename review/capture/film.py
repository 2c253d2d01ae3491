"""Open a file as a film, or say in one sentence why it is none."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import av
from av.audio.stream import AudioStream
from av.container import InputContainer
from av.stream import Disposition
from av.video.stream import VideoStream

from review.capture.refusals import Refusal
from review.domain.errors import FilmRefused

MOST_STREAMS: Final = 32
"""Phones and action cameras write up to eight; more are read for nothing and cost memory each."""

_CONTAINERS: Final = {"mov", "matroska", "avi", "mpegts", "mpeg", "asf", "flv", "ogg", "3gp", "gif"}
_PICTURE_BRANDS: Final = {"heic", "heix", "mif1", "avif"}
_ONE_THREAD_PX: Final = 1920 * 1088


def open_film(path: Path, threads: bool = True) -> InputContainer:
    """Open a film that has a picture.

    Only local files in film containers are opened; a playlist that points elsewhere is no film.

    Parameters
    ----------
    path
        The film.
    threads
        Whether to decode with as many threads as the codec likes; without, the first frame comes sooner.

    Raises
    ------
    FilmRefused
        If it is no file, or no film with a picture.
    MemoryError
        If its index asks for more memory than there is.
    """
    _check_file(path)
    try:
        container = av.open(f"file:{path.resolve()}", options={"protocol_whitelist": "file"})
    except MemoryError:
        raise
    except (av.error.FFmpegError, OSError, UnicodeError) as fault:
        raise _unreadable(path) from fault
    try:
        _check_container(path, container)
    except FilmRefused:
        container.close()
        raise
    picture_stream(container).thread_type = "AUTO" if threads else "NONE"
    return container


def beside_models(container: InputContainer) -> None:
    """Decode with one thread unless the picture is larger than 1080p: the models need the other cores.

    On two cores one thread keeps ahead of the models up to 1080p; more threads only take turns from them. With
    several threads a damaged packet also takes frames around it along, so that whoever counts frames has to decode
    as whoever looks at them.
    """
    stream = picture_stream(container)
    if stream.width * stream.height <= _ONE_THREAD_PX:
        stream.thread_type = "NONE"


def picture_stream(container: InputContainer) -> VideoStream:
    """Return the stream of moving pictures to use: the largest, of equal ones the best, never a cover picture."""
    best = container.streams.best("video")
    chosen = best.index if best is not None else -1
    return max(_moving(container), key=lambda stream: (stream.width * stream.height, stream.index == chosen))


def sound_stream(container: InputContainer) -> AudioStream | None:
    """Return the stream of sound to use, or None if there is none that a decoder here knows."""
    best = container.streams.best("audio")
    return best if isinstance(best, AudioStream) and best.codec_context is not None else None


def _moving(container: InputContainer) -> list[VideoStream]:
    known = [each for each in container.streams.video if each.codec_context is not None]
    return [each for each in known if not each.disposition & Disposition.attached_pic]


def _check_file(path: Path) -> None:
    try:
        status = path.stat()
    except OSError as fault:
        raise Refusal.NO_FILE.of(path, folder=path.parent) from fault
    if path.is_dir():
        raise Refusal.FOLDER.of(path)
    if not path.is_file():
        raise Refusal.NO_ORDINARY_FILE.of(path)
    if status.st_size == 0:
        raise Refusal.EMPTY.of(path)


def _check_container(path: Path, container: InputContainer) -> None:
    if _is_a_picture(container):
        raise Refusal.A_PICTURE.of(path)
    if not set(container.format.name.split(",")) & _CONTAINERS:
        raise Refusal.OTHER_KIND.of(path, kind=container.format.long_name)
    if len(container.streams) > MOST_STREAMS:
        raise Refusal.TOO_MANY_STREAMS.of(path, count=len(container.streams), most=MOST_STREAMS)
    if _moving(container):
        return
    if any(stream.codec_context is None for stream in container.streams.video):
        raise Refusal.UNKNOWN_CODEC.of(path)
    kind = "only sound" if container.streams.audio else "no stream that can be shown"
    raise Refusal.NO_PICTURE.of(path, kind=kind)


def _is_a_picture(container: InputContainer) -> bool:
    name = container.format.name
    return name.endswith("_pipe") or container.metadata.get("major_brand") in _PICTURE_BRANDS


def _unreadable(path: Path) -> FilmRefused:
    try:
        with path.open("rb") as file:
            head = file.read(64)
    except OSError as fault:
        return Refusal.NOT_READABLE.of(path, reason=fault.strerror)
    if head[4:8] in (b"ftyp", b"mdat", b"moov", b"wide", b"free"):
        return Refusal.NO_INDEX.of(path)
    return Refusal.NO_FILM.of(path)
