"""Where the head is: the square cut around it, and whether the pose that says so may be believed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]

VISIBLE: Final = 0.5
"""Visibility above which a body point counts as seen."""

_NOSE, _SHOULDERS, _HIPS, _EARS = 0, [11, 12], [23, 24], [7, 8]
_LEGS = ([25, 27], [26, 28])
_HEAD = slice(0, 11)
_CLEAR = 0.65
_BOX_IN_UNITS = 1.5
_TRUNK_SHARE = 0.65
_SMALL_SHARE = 0.4
_PROFILE = 2.5
_BEHIND = {"shoulders": 0.1, "ears": 0.03}


@dataclass(frozen=True, slots=True)
class Body:
    """One answer of the pose model.

    Attributes
    ----------
    xy
        Body points in the shown picture, shape ``(33, 2)``, px.
    visibility
        The model's guess that each can be seen, shape ``(33,)``.
    world
        Body points about the hips' middle, shape ``(33, 3)``, m.
    """

    xy: Points
    visibility: Points
    world: Points

    def sees(self, points: list[int], above: float = VISIBLE) -> bool:
        """Tell whether the visibility of all `points` is above a limit."""
        return bool(np.all(self.visibility[points] > above))


@dataclass(frozen=True, slots=True)
class Hand:
    """One answer of the hand model.

    Attributes
    ----------
    left
        Whether the model takes it for a left hand.
    xy
        The hand points in the shown picture, shape ``(21, 2)``, px; the first is the wrist.
    """

    left: bool
    xy: Points


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle in the shown picture: its top left corner and size, px; it may reach over the picture's edge."""

    left: float
    top: float
    width: float
    height: float

    def holds(self, point: Points) -> bool:
        """Tell whether a point, shape ``(2,)``, lies within."""
        beyond = np.abs(point - self.centre) > (self.width / 2, self.height / 2)
        return not beyond.any()

    @property
    def centre(self) -> Points:
        """Middle of the rectangle, shape ``(2,)``, px."""
        return np.array([self.left + self.width / 2, self.top + self.height / 2])


def head_box(body: Body) -> Box:
    """Return the square around the head: centred on the pose points 0 to 10, 1.5 shoulder widths wide.

    Seen from the side the shoulders say nothing about size; then a share of the trunk's length takes their place.
    """
    centre = body.xy[_HEAD].mean(axis=0)
    side = max(_BOX_IN_UNITS * float(body_unit(body.xy, body.visibility)), 8.0)
    return Box(float(centre[0]) - side / 2, float(centre[1]) - side / 2, side, side)


def body_unit(xy: Points, visibility: Points) -> Points:
    """Return the size of bodies in the picture, px: shoulder width, or the same share of the trunk if that is more.

    Parameters
    ----------
    xy, visibility
        Body points, shape ``(..., 33, 2)``, px, and how far each can be seen, shape ``(..., 33)``.
    """
    width = np.linalg.norm(xy[..., 11, :] - xy[..., 12, :], axis=-1)
    trunk = np.linalg.norm(xy[..., _SHOULDERS, :].mean(axis=-2) - xy[..., _HIPS, :].mean(axis=-2), axis=-1)
    seen = np.all(visibility[..., _HIPS] > VISIBLE, axis=-1)
    return np.asarray(np.fmax(width, np.where(seen, _TRUNK_SHARE * trunk, 0.0)))


def is_small(box: Box, size: tuple[int, int]) -> bool:
    """Tell whether a head is too small to look for the face on the whole picture of `size` (width, height)."""
    return box.width < _SMALL_SHARE * min(size)


def seen_from_behind(body: Body) -> bool:
    """Tell whether the back of the body is to the camera, where a face model is prone to see a face in the hair.

    Both the shoulders and the ears must lie the other way round than on a person who faces the camera; which way
    is up is taken from the body itself, so a person who lies down is judged as well.
    """
    shoulders = body.xy[_SHOULDERS].mean(axis=0)
    upward = shoulders - body.xy[_HIPS].mean(axis=0) if body.sees(_HIPS) else body.xy[_HEAD].mean(axis=0) - shoulders
    upward = upward / max(float(np.hypot(*upward)), 1e-9)
    width = head_box(body).width

    def reversed_by(left: int, right: int) -> float:
        across = body.xy[left] - body.xy[right]
        return float(across[0] * upward[1] - across[1] * upward[0]) / width

    return reversed_by(*_SHOULDERS) > _BEHIND["shoulders"] and reversed_by(*_EARS) > _BEHIND["ears"]


def seen_in_profile(body: Body) -> bool:
    """Tell whether the head is turned so far aside that a face model has little to go by.

    The nose then lies further from the middle of the ears, along the line through them, than two and a half times
    half their distance. A rendered head turned by 30 deg read 0.87 to 1.04 times, so the limit is near 57 deg; every
    measure of the face refuses beyond 45 deg.
    """
    left, right = body.xy[_EARS]
    across = left - right
    width = max(float(np.hypot(*across)), 1e-9)
    aside = abs(float((body.xy[_NOSE] - (left + right) / 2) @ across)) / width
    return aside > _PROFILE * width / 2


def stands_alone(body: Body) -> bool:
    """Tell whether a pose may be believed without a face: shoulders, hips and one whole leg are seen.

    A pose model answers on pictures without a person too: on lettering in a cartoon with shoulders and hips at 0.99,
    but with no leg above 0.5 at the size it is handed here. The better leg of people on film was mostly at 0.94 or
    more, and above 0.68 for a small, far person looked at twice a second.
    """
    return body.sees(_SHOULDERS) and body.sees(_HIPS) and any(body.sees(leg, _CLEAR) for leg in _LEGS)


def stands_with_face(body: Body, face_centre: Points | None) -> bool:
    """Tell whether a pose may be believed because a face was found where its head is."""
    return face_centre is not None and body.sees(_SHOULDERS) and head_box(body).holds(face_centre)
