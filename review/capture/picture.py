"""Light and sharpness of pictures, and where in them the person is not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from review.capture.background import Grey, background_shift
from review.capture.head import Body, head_box
from review.capture.upright import Picture

LONG_SIDE_PX: Final = 480
"""Longer side of the picture on which light, sharpness and shift are measured."""

_THICKEST = 120


@dataclass(frozen=True, slots=True)
class Light:
    """Brightness and contrast of luma (0 to 1), and variance of its Laplacian (0 to 255 scale)."""

    brightness: float
    contrast: float
    sharpness: float


def grey_of(picture: Picture) -> Grey:
    """Return the luma of an RGB picture, scaled so that its longer side is `LONG_SIDE_PX`; shape ``(h, w)``."""
    import cv2

    grey = cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY)
    scale = LONG_SIDE_PX / max(grey.shape)
    size = (max(1, round(grey.shape[1] * scale)), max(1, round(grey.shape[0] * scale)))
    return np.asarray(cv2.resize(grey, size, interpolation=cv2.INTER_AREA if scale < 1 else cv2.INTER_LINEAR))


def light_of(grey: Grey) -> Light:
    """Measure the light and sharpness of a luma picture."""
    import cv2

    return Light(
        brightness=float(grey.mean()) / 255,
        contrast=float(grey.std()) / 255,
        sharpness=float(cv2.Laplacian(grey, cv2.CV_64F).var()),
    )


def person_mask(body: Body | None, size: tuple[int, ...], scale: float) -> NDArray[np.bool_]:
    """Return where the person may be in a luma picture, shape ``(h, w)``.

    That is the hull of the body points, grown by half a head, and the head. Without a body it is all but a border
    of a fifth of the picture at the top and the sides.

    Parameters
    ----------
    body
        The body in the shown picture, believed or not.
    size
        Height and width of the luma picture.
    scale
        Pixels of the shown picture to one of the luma picture.
    """
    import cv2

    height, width = size
    mask = np.zeros((height, width), np.uint8)
    if body is None:
        mask[height // 5 :, width // 5 : width - width // 5] = 1
        return mask.astype(bool)
    head = head_box(body)
    reach = max(size)
    radius = min(0.45 * head.width / scale, reach)
    grow = min(max(2, round(0.25 * head.width / scale)), _THICKEST)
    points = np.clip(body.xy / scale, -4 * reach, 4 * reach)
    hull = cv2.convexHull(points.astype(np.int32))
    cv2.fillConvexPoly(mask, np.asarray(hull), 1)
    cv2.polylines(mask, [np.asarray(hull)], True, 1, thickness=2 * grow)
    across, down = np.clip(head.centre / scale, -4 * reach, 4 * reach)
    cv2.circle(mask, (round(float(across)), round(float(down))), round(radius), 1, -1)
    return mask.astype(bool)


def picture_values(
    picture: Picture, before: Grey | None, bodies: Sequence[Body], size: tuple[int, int]
) -> tuple[Grey, dict[str, NDArray[np.float64] | float]]:
    """Measure one picture: its luma, and the variables of the stream ``picture`` by name.

    Parameters
    ----------
    picture
        RGB, upright.
    before
        Luma of the picture measured before, None for the first.
    bodies
        Everybody in the picture, believed or not; nobody means that a person may be anywhere in the middle.
    size
        Width and height as displayed.
    """
    grey = grey_of(picture)
    light = light_of(grey)
    scale = size[0] / grey.shape[1]
    shift = np.full(2, np.nan)
    if before is not None:
        masks = [person_mask(body, grey.shape, scale) for body in bodies or (None,)]
        shift = background_shift(before, grey, np.any(masks, axis=0)) * scale
    values = {"brightness": light.brightness, "contrast": light.contrast, "sharpness": light.sharpness}
    return grey, {**values, "background_shift": shift}
