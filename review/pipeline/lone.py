"""Where never two people were seen at once: whether the one who is seen is always the same one.

The body model can miss one of two who stand close, and then follows now the one, now the other, or takes the head of
one and the trunk of the other.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

from review.pipeline.people import Bodies, unlike

Weights = npt.NDArray[np.float64]

ANOTHER: Final = 0.6
"""After a jump, clothes whose colours are further apart than this (Hellinger distance) are somebody else's.

Rendered people stayed within 0.42 of their own colours, close-ups with hands before the body among them; the two of a
film in which one was missed were 0.83 apart.
"""

_SOON_S: Final = 0.25
_STEP: Final = (0.3, 1.5)
_LONGEST_STEP: Final = 1.0
_ABOUT_S: Final = 0.5


def another(bodies: Bodies, hit: tuple[int, int] | None = None) -> npt.NDArray[np.bool_]:
    """Tell in which frames the one who is seen may be somebody else; shape ``(time,)``.

    A jump is where head or trunk goes further between two looks than a body can: more than 0.3 shoulder widths and 1.5
    a second, or one in all. Between two jumps it is somebody else if the clothes have other colours; within half a
    second of a jump between looks that follow each other closely it may be anybody, or two people in one. Clothes alone
    tell nothing: they look otherwise in another light, or from near.

    Parameters
    ----------
    bodies
        With nobody, or one body, in each frame.
    hit
        Frame and place of the body that was pointed at; without it the one is meant who is seen most between two jumps.
    """
    found = np.zeros(len(bodies.time_s), dtype=np.bool_)
    rows = np.flatnonzero(bodies.there.any(axis=1))
    if not len(rows):
        return found
    seen = bodies.cut(rows)
    place = seen.there.argmax(axis=1)
    jumped, gap = _jumps(seen, place)
    stay = np.concatenate([[0], np.cumsum(jumped)])
    meant = int(stay[np.searchsorted(rows, hit[0])]) if hit else int(np.bincount(stay).argmax())
    colours = np.stack([_colour(seen.colour[stay == number, place[stay == number]]) for number in range(stay[-1] + 1)])
    found[rows] = (unlike(colours[[meant]], colours)[0] > ANOTHER)[stay]
    for moment in seen.time_s[1:][jumped & (gap <= _SOON_S)]:
        found |= np.abs(bodies.time_s - moment) <= _ABOUT_S
    return found


def _jumps(seen: Bodies, place: npt.NDArray[np.intp]) -> tuple[npt.NDArray[np.bool_], Weights]:
    """Tell for each look but the first whether the body has jumped since the look before, and how long ago that was."""
    at = np.arange(len(place)), place
    gap = np.diff(seen.time_s)
    unit = np.maximum(seen.unit[at][:-1], 1.0)
    ways = [np.linalg.norm(np.diff(where[at], axis=0), axis=1) / unit for where in (seen.head, seen.centre)]
    return np.fmax(*ways) > np.minimum(_STEP[0] + _STEP[1] * gap, _LONGEST_STEP), gap


def _colour(colours: Weights) -> Weights:
    """Return the mean of those colours that are known, NaN if none is."""
    known = colours[np.isfinite(colours).all(axis=1)]
    return np.asarray(known.mean(axis=0) if len(known) else np.full(colours.shape[1], np.nan))
