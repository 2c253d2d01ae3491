"""Four seconds of the clip of two people, in which one walks out of the picture; with where their heads are."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from review.capture.probe import probe
from review.capture.video import frames
from sample_clips import PAIR, clip_path, truth
from tests.films import click_at, make_film

FIRST, STOP = 372, 480
SIZE = (960, 540)


def leaving(path: Path) -> Path:
    """Write the film, with sound and with what a phone says of place, day and device, and return its path."""
    source = clip_path(PAIR)
    times = probe(source)[1]
    pictures = [frame.picture for frame in frames(source, times, FIRST, STOP, SIZE[0])]
    said = {"creation_time": "2026-03-02T18:30:00Z", "title": "L-12 in the lab", "location": "+54.5-001.2/"}
    return make_film(
        path,
        (times[FIRST:STOP] - times[FIRST]).tolist(),
        SIZE,
        picture=lambda number: pictures[number],
        sound=click_at(1.0, 3.5),
        container={"movflags": "use_metadata_tags"},
        metadata={**said, "com.android.model": "phone"},
    )


def heads(person: str) -> npt.NDArray[np.float64]:
    """Return the middle of a person's skull in each frame, shape ``(frame, 2)``, px; NaN out of the picture."""
    known: dict[str, Any] = truth(PAIR)["frames"]["people"][person]
    places = np.array(known["head_px"][FIRST:STOP], dtype=np.float64)
    outside = ((places < 0) | (places >= SIZE)).any(axis=1)
    return np.where(outside[:, None], np.nan, places)
