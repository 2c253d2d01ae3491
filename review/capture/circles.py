"""Circles that hold a whole head: from a body's points, from a face, and what of a picture lies around one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from review.capture.head import VISIBLE, Body, Points, body_unit

Circles = NDArray[np.float64]
"""Rows of middle x, middle y and radius in the shown picture, px; shape ``(circle, 3)``."""

_HEAD: Final = slice(0, 11)
_EARS: Final = [7, 8]
_SHOULDERS: Final = [11, 12]
_OF_BODY: Final = (0.6, 0.08)
_OF_EARS: Final = 1.3
_OF_FACE: Final = (0.95, 0.15)
_SAME: Final = 0.8
_ALIKE: Final = 2.2


@dataclass(frozen=True, slots=True)
class FaceBox:
    """One answer of the face detector, in the shown picture.

    Attributes
    ----------
    centre
        Middle of the box, shape ``(2,)``, px.
    width
        Its width, px.
    up
        From the mouth to the middle between the eyes, shape ``(2,)``, px.
    score
        How sure the detector is, 0 to 1.
    """

    centre: Points
    width: float
    up: Points
    score: float


def head_of_body(body: Body) -> Circles:
    """Return the circle around the head of a body, shape ``(1, 3)``.

    Its radius is 0.6 of the body's unit (`review.capture.head.body_unit`), some 22 cm, or more where the ears lie
    further apart than that allows. It reaches a little further away from the shoulders, where the hair is.
    """
    centre = body.xy[_HEAD].mean(axis=0)
    unit = max(float(body_unit(body.xy, body.visibility)), 4.0)
    ears = float(np.hypot(*(body.xy[_EARS[0]] - body.xy[_EARS[1]])))
    radius = max(_OF_BODY[0] * unit, _OF_EARS * ears)
    up = centre - body.xy[_SHOULDERS].mean(axis=0)
    middle = centre + _OF_BODY[1] * unit * up / max(float(np.hypot(*up)), 1.0)
    return np.array([[*middle, radius]])


def head_of_face(face: FaceBox) -> Circles:
    """Return the circle around the head whose face was found, shape ``(1, 3)``.

    The detector's box goes from the brows to the chin; the circle is 1.9 times as wide and reaches further up.
    """
    up = face.up / max(float(np.hypot(*face.up)), 1.0)
    return np.array([[*(face.centre + _OF_FACE[1] * face.width * up), _OF_FACE[0] * face.width]])


def shows_head(body: Body) -> bool:
    """Tell whether a body's answer says that its head is in the picture: its nose, an ear or the shoulders are seen.

    A model that answers on legs alone puts a head somewhere and says itself that it is not seen.
    """
    return bool(body.visibility[_HEAD].max() > VISIBLE) or body.sees(_SHOULDERS)


def about(circle: NDArray[np.float64], circles: Circles, reach: float = _SAME) -> NDArray[np.bool_]:
    """Tell which circles are the same head as `circle`, shape ``(3,)``.

    Their middles lie within `reach` of the larger radius, and neither is more than 2.2 times as large as the other.
    """
    larger, smaller = np.maximum(circles[:, 2], circle[2]), np.minimum(circles[:, 2], circle[2])
    away = np.hypot(*(circles[:, :2] - circle[:2]).T)
    return np.asarray((away < reach * larger) & (larger < _ALIKE * smaller))
