"""Whether a film says that it was filmed faster than it plays, as slow motion is."""

from __future__ import annotations

from typing import Final

import numpy as np
from av.container import InputContainer
from numpy.typing import NDArray

from review.capture.clock import typical_gap

_FILMED_AT: Final = "com.android.capture.fps"
_FASTEST_HZ: Final = 10_000.0
_SLOW: Final = 1.5
_WHOLE: Final = 0.05


def filmed_hz(container: InputContainer) -> float:
    """Return how many frames a second the camera says it filmed, 0 if it says nothing or nothing possible.

    Phones with Android write it into MP4. A film of many frames a second that plays at the speed of life needs
    nothing: its own times are right.
    """
    try:
        said = float(container.metadata.get(_FILMED_AT, "0"))
    except ValueError:
        return 0.0
    return said if 0 < said < _FASTEST_HZ else 0.0


def times_slower(filmed: float, times: NDArray[np.float64]) -> float:
    """Return how many times slower than filmed a film plays, in whole numbers where it is near one; 1 if hardly.

    Parameters
    ----------
    filmed
        Frames a second that the camera says it filmed, 0 if it says nothing.
    times
        Presentation times of all frames, shape ``(frame,)``, seconds.

    Examples
    --------
    >>> times_slower(240.0, np.arange(30) / 29.97)
    8.0
    >>> times_slower(30.0, np.arange(30) / 29.97)
    1.0
    """
    slower = filmed * typical_gap(np.diff(times))
    if slower < _SLOW:
        return 1.0
    whole = round(slower)
    return float(whole) if abs(slower - whole) < _WHOLE * slower else round(slower, 1)


def slowness_notes(filmed: float, times: NDArray[np.float64]) -> list[str]:
    """Say that a film may be slow motion and what to do then; nothing if it says no such thing of itself."""
    slower = times_slower(filmed, times)
    if slower == 1:
        return []
    played = 1 / typical_gap(np.diff(times))
    return [
        f"The camera filmed {filmed:.0f} frames a second and the film plays {played:.0f}: if it is slow motion, say "
        f"{slower:g} when adding it."
    ]
