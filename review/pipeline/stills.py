"""Still pictures of a recording, made once and kept beside the film."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final
from uuid import uuid4

from review.capture.intake import stills
from review.domain.model import Recording
from review.store.home import Home
from review.store.media import media_folder
from review.store.vault import at_hand

STRIP_HEIGHT_PX: Final = 120
"""Height of the stills of a recording's strip and of the contact sheet."""

Look = Callable[[Path, Sequence[float], int, bool], list[bytes]]
"""As `review.capture.intake.stills`."""

DIRECTLY: Final[Look] = stills
"""Makes them in this process."""

_STRIP: Final = 5


def strip_times(duration_s: float) -> tuple[float, ...]:
    """Return the times of a recording's strip: evenly spread, away from both ends.

    Examples
    --------
    >>> strip_times(10.0)
    (1.0, 3.0, 5.0, 7.0, 9.0)
    """
    return tuple(round((2 * place + 1) * duration_s / (2 * _STRIP), 3) for place in range(_STRIP))


def still_pictures(
    home: Home,
    recording: Recording,
    times_s: Sequence[float],
    height_px: int = STRIP_HEIGHT_PX,
    look: Look = DIRECTLY,
) -> list[bytes]:
    """Return JPEG pictures of the frames shown at the given times, from the kept ones where there are any.

    Those of a mirrored film are flipped back, so that left is left.

    Parameters
    ----------
    times_s
        Times in seconds; rounded to the millisecond.
    height_px
        Height of the pictures.
    look
        What makes those that are missing.
    """
    places = [_place(home, recording, time_s, height_px) for time_s in times_s]
    missing = [(time_s, place) for time_s, place in zip(times_s, places, strict=True) if not place.exists()]
    if missing:
        film = at_hand(home, recording.original)
        made = look(film, [time_s for time_s, _ in missing], height_px, recording.mirrored)
        for (_, place), picture in zip(missing, made, strict=True):
            _keep(place, picture)
    return [place.read_bytes() for place in places]


def _place(home: Home, recording: Recording, time_s: float, height_px: int) -> Path:
    look = "-flipped" if recording.mirrored else ""
    return media_folder(home, recording.sha256) / "stills" / f"{round(time_s * 1000):08d}-{height_px}{look}.jpg"


def _keep(place: Path, picture: bytes) -> None:
    place.parent.mkdir(parents=True, exist_ok=True)
    part = place.with_suffix(f".{uuid4().hex}.part")
    part.write_bytes(picture)
    part.replace(place)
