"""Whose a hand is: that of the body whose wrist lies where the hand begins."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from review.capture.head import Hand, Points, body_unit

REACH: Final = 0.6
"""A hand belongs to a body if its wrist lies within so many shoulder widths of one of the body's.

Common practice, no source: wrists of the body's model were mostly within 0.15 of the hand model's on the trial films,
and further off when the arm points at the camera.
"""

_WRISTS = {"left": 15, "right": 16}
_FURTHEST = 1e9


def hands_of(
    hands: Sequence[Hand], bodies: Sequence[tuple[Points, Points]], examined: int | None
) -> tuple[Points, Points]:
    """Part the hands into those of the examined person and those of anybody else.

    Every wrist of every body gets at most one hand, the nearest pairs first. A hand that no wrist claims is somebody
    else's: an examiner's arm often reaches in from outside the picture.

    Parameters
    ----------
    hands
        What the hand model saw.
    bodies
        Points, shape ``(33, 2)``, px, and visibility, shape ``(33,)``, of every body in the picture.
    examined
        Which of them is the examined person; None if that is not known: then no hand is the examined person's.

    Returns
    -------
    own, other
        Shape ``(2, 21, 2)``, px: left and right; NaN where there is none. `own` goes by the body's left and right,
        `other` by the model's guess, and a second one of a side takes the other side's place if that is free.
    """
    own, other = (np.full((2, 21, 2), np.nan) for _ in range(2))
    claims = _claims(hands, bodies)
    for number, hand in enumerate(hands):
        body, side = claims.get(number, (-1, 0))
        if body >= 0 and body == examined:
            own[side] = hand.xy
            continue
        place = 0 if hand.left else 1
        place = place if np.isnan(other[place]).all() else 1 - place
        if np.isnan(other[place]).all():
            other[place] = hand.xy
    return own, other


def _claims(hands: Sequence[Hand], bodies: Sequence[tuple[Points, Points]]) -> dict[int, tuple[int, int]]:
    """Return hand -> body and side (0 left, 1 right) of the wrist that has it."""
    pairs = [
        (_distance(hand, xy, visibility, wrist), number, body, side)
        for number, hand in enumerate(hands)
        for body, (xy, visibility) in enumerate(bodies)
        for side, wrist in enumerate(_WRISTS.values())
    ]
    claims: dict[int, tuple[int, int]] = {}
    for distance, number, body, side in sorted(pairs):
        if distance <= REACH and number not in claims and (body, side) not in claims.values():
            claims[number] = (body, side)
    return claims


def _distance(hand: Hand, xy: Points, visibility: Points, wrist: int) -> float:
    unit = float(body_unit(xy, visibility))
    return float(np.hypot(*(hand.xy[0] - xy[wrist]))) / unit if unit > 0 else _FURTHEST
