"""Frames that were shown are let go at once, so that a long film does not fill the memory."""

from __future__ import annotations

import gc
from pathlib import Path

import av

from review.capture.intake import probe
from review.capture.video import frames
from tests.films import even_times, make_film


def test_no_frame_waits_for_the_collector_of_garbage(tmp_path: Path) -> None:
    """With the collector off, hardly a decoded frame is left after all of them were read."""
    path = make_film(tmp_path / "turned.mp4", even_times(60), turn_deg=90)
    _, times = probe(path)
    gc.collect()
    before = _left()
    gc.disable()
    try:
        assert sum(1 for _ in frames(path, times, 0, 60, 96)) == 60
        assert _left() - before <= 5
    finally:
        gc.enable()


def _left() -> int:
    return sum(isinstance(one, av.VideoFrame) for one in gc.get_objects())
