"""Open a file as a film, or say in one sentence why it is none."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import av
from av.container import InputContainer
from av.stream import Disposition
from av.video.stream import VideoStream

from review.domain.errors import FilmRefused

_CONTAINERS: Final = {"mov", "matroska", "avi", "mpegts", "mpeg", "asf", "flv", "ogg", "3gp", "h264", "hevc"}
_ONE_THREAD_PX: Final = 1920 * 1088
_EXPECTED: Final = "expected a film such as MP4, MOV, WebM or MKV"


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
    """
    _check_file(path)
    try:
        container = av.open(f"file:{path.resolve()}", options={"protocol_whitelist": "file"})
    except (av.error.FFmpegError, OSError, UnicodeError) as fault:
        raise FilmRefused(f"{path.name}: {_reason(path)}") from fault
    try:
        _check_container(path, container)
    except FilmRefused:
        container.close()
        raise
    picture_stream(container).thread_type = "AUTO" if threads else "NONE"
    return container


def beside_models(container: InputContainer) -> None:
    """Decode with one thread unless the picture is larger than 1080p: the models need the other cores.

    On two cores one thread keeps ahead of the models up to 1080p; more threads only take turns from them.
    """
    stream = picture_stream(container)
    if stream.width * stream.height <= _ONE_THREAD_PX:
        stream.thread_type = "NONE"


def picture_stream(container: InputContainer) -> VideoStream:
    """Return the stream of moving pictures to use: the best by resolution and flags, never a cover picture."""
    moving = _moving(container)
    best = container.streams.best("video")
    return next((stream for stream in moving if best is not None and stream.index == best.index), moving[0])


def _moving(container: InputContainer) -> list[VideoStream]:
    return [each for each in container.streams.video if not each.disposition & Disposition.attached_pic]


def _check_file(path: Path) -> None:
    try:
        size = path.stat().st_size
    except OSError as fault:
        raise FilmRefused(f"{path.name}: there is no such file to read in {path.parent}; check the path.") from fault
    if path.is_dir():
        raise FilmRefused(f"{path.name}: this is a folder, {_EXPECTED}; name one file in it.")
    if size == 0:
        raise FilmRefused(
            f"{path.name}: the file is empty (0 bytes), {_EXPECTED}; copy it again from the phone or camera."
        )


def _check_container(path: Path, container: InputContainer) -> None:
    if not set(container.format.name.split(",")) & _CONTAINERS:
        raise FilmRefused(f"{path.name}: this is {container.format.long_name}, {_EXPECTED}; choose another file.")
    if not _moving(container):
        kind = "only sound" if container.streams.audio else "no stream that can be shown"
        raise FilmRefused(f"{path.name}: the file holds {kind} and no picture, {_EXPECTED}; choose another file.")


def _reason(path: Path) -> str:
    try:
        with path.open("rb") as file:
            head = file.read(64)
    except OSError as fault:
        return f"the file cannot be read ({fault.strerror}); check who may read it."
    if head[4:8] in (b"ftyp", b"mdat", b"moov", b"wide", b"free"):
        return (
            "this looks like an MP4 or MOV film without its index (moov), which is written last: the recording or the "
            "copying was cut off; copy it again, or repair it with the recording app."
        )
    return f"this is no film that can be read, {_EXPECTED}; choose another file."
