"""A film that says in every frame which frame it is, and a page to look at it with."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np

BITS = 10
HEIGHT_PX, BLOCK_PX = 180, 32
RATE_HZ = 30

READ_CODE = """(film) => {
    const [width, height] = [film.videoWidth, film.videoHeight];
    const canvas = Object.assign(document.createElement("canvas"), { width, height });
    const pen = canvas.getContext("2d", { willReadFrequently: true });
    pen.drawImage(film, 0, 0);
    const block = width / 10;
    const row = Math.round(height * 0.75);
    const lit = (bit) => pen.getImageData(Math.round((bit + 0.5) * block), row, 1, 1).data[0] > 127;
    return Array.from({ length: 10 }, (_, bit) => (lit(bit) ? 2 ** bit : 0)).reduce((sum, part) => sum + part, 0);
}"""
"""Returns the number of the frame that a video element shows, read off its blocks."""


def coded_picture(number: int, height_px: int = HEIGHT_PX) -> np.ndarray:
    """Draw the frame number as ten blocks in the lower half, lit for the bits that are set; shape (height, 320, 3)."""
    lit = np.array([(number >> bit) & 1 for bit in range(BITS)], np.uint8)
    picture = np.full((height_px, BITS * BLOCK_PX, 3), 90, np.uint8)
    picture[height_px // 2 :] = (20 + 215 * np.repeat(lit, BLOCK_PX))[None, :, None]
    return picture


def write_coded(path: Path, stamps_ms: Sequence[int], height_px: int = HEIGHT_PX) -> Path:
    """Write an H.264 film with these presentation times, each frame coded with its number."""
    with av.open(str(path), "w") as film:
        stream = film.add_stream("libx264", rate=RATE_HZ, options={"preset": "ultrafast", "bf": "0", "g": "30"})
        stream.width, stream.height, stream.pix_fmt = BITS * BLOCK_PX, height_px, "yuv420p"
        stream.codec_context.time_base = Fraction(1, 1000)
        for number, stamp in enumerate(stamps_ms):
            frame = av.VideoFrame.from_ndarray(coded_picture(number, height_px), format="rgb24")
            frame.pts, frame.time_base = stamp, Fraction(1, 1000)
            film.mux(stream.encode(frame))
        film.mux(stream.encode(None))
    return path


def even_ms(seconds: float, rate_hz: float = RATE_HZ) -> list[int]:
    """Presentation times in ms, evenly spaced, from 0 up to `seconds`."""
    return [round(1000 * number / rate_hz) for number in range(round(seconds * rate_hz))]


def open_film(page: Any, address: str, recording_id: str, person: str = "L-07") -> None:
    """Open the Review page of a recording and wait until its frames are known and the picture is there."""
    page.goto(f"{address}/review?recording={recording_id}&as={person}")
    page.get_by_test_id("frame").get_by_text("frame ").wait_for(state="attached", timeout=60_000)
    page.wait_for_function(
        """() => {
            const find = (root) => root.querySelector("video") ??
                [...root.querySelectorAll("*")].map((one) => one.shadowRoot && find(one.shadowRoot)).find(Boolean);
            window.film = find(document);
            return window.film?.readyState >= 2 && !window.film.seeking;
        }"""
    )


def shown(page: Any, testid: str = "video") -> int:
    """Return the number of the frame that is on the screen, from 0."""
    number: int = page.get_by_test_id(testid).evaluate(READ_CODE)
    return number
