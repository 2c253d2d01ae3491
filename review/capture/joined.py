"""A small film out of several, and copies of it that are films of their own."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction
from pathlib import Path
from typing import Final

import av

from review.capture.film import open_film, picture_stream

SIZE_PX: Final = (480, 270)
"""Width and height of the small film."""

_RATE_HZ: Final = 30
_KEPT: Final = 2
_TICK: Final = Fraction(1, _RATE_HZ)
_OPTIONS: Final = {"crf": "32", "preset": "veryfast", "bf": "0", "g": "60"}


def join_small(films: Sequence[Path], target: Path, progress: Callable[[float], None]) -> None:
    """Write films of 30 frames a second one after the other as one small MP4 (H.264), every second frame of them.

    Parameters
    ----------
    films
        What is joined, in this order; their sound is left out.
    target
        The file to write.
    progress
        Told the share that is done, 0 to 1.
    """
    with av.open(str(target), "w", format="mp4", options={"movflags": "faststart"}) as out:
        stream = out.add_stream("libx264", rate=_RATE_HZ // _KEPT, options=_OPTIONS)
        stream.width, stream.height = SIZE_PX
        stream.pix_fmt, stream.codec_context.time_base = "yuv420p", _TICK
        number = 0
        for place, film in enumerate(films):
            with open_film(film) as source:
                for frame in source.decode(picture_stream(source)):
                    if number % _KEPT == 0:
                        small = frame.reformat(*SIZE_PX, format="yuv420p")
                        small.pts, small.time_base = number, _TICK
                        out.mux(stream.encode(small))
                    number += 1
            progress((place + 1) / len(films))
        out.mux(stream.encode(None))


def with_note(mp4: bytes, note: str) -> bytes:
    """Return an MP4 with a box at its end that players pass over: the same film, with a fingerprint of its own.

    Parameters
    ----------
    mp4
        The whole file.
    note
        What stands in the box (``free``, ISO/IEC 14496-12, 8.1.2).
    """
    text = note.encode()
    return mp4 + (8 + len(text)).to_bytes(4, "big") + b"free" + text
