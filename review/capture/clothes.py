"""The colours of a person's clothes, by which two people are told apart."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from review.capture.head import VISIBLE, Body, body_unit
from review.capture.upright import Picture
from review.domain.sightings import COLOURS

_HUES: Final = 8
_SATURATIONS: Final = 3
_LIGHTS: Final = 8
_GREY: Final = 32
_DARK: Final = 24
_SIDE_PX: Final = 64
_TRUNK = (11, 12, 24, 23)
_THIGHS = ((23, 25), (24, 26))
_LEAST_PX = 12


def clothes_colours(picture: Picture, body: Body, scale: float) -> NDArray[np.float32]:
    """Return the shares of colours on the trunk and thighs of a body, shape ``(bin,)``, sum 1; NaN if none is seen.

    Where the hips are out of the picture, a square below the shoulders stands for the trunk. A pixel with little
    colour, or a dark one, counts by its lightness, any other by hue and saturation.

    Parameters
    ----------
    picture
        RGB, shape ``(h, w, 3)``.
    body
        In the shown picture.
    scale
        Pixels of the shown picture to one of `picture`.
    """
    import cv2

    outlines = [np.clip(outline / scale, -1e4, 1e4) for outline in _outlines(body)]
    left, top = np.floor(np.min([outline.min(axis=0) for outline in outlines], axis=0)).astype(int).clip(0)
    right, bottom = np.ceil(np.max([outline.max(axis=0) for outline in outlines], axis=0)).astype(int)
    part = picture[top : max(bottom, top), left : max(right, left)]
    if min(part.shape[:2]) < 2:
        return np.full(COLOURS, np.nan, np.float32)
    shrink = min(1.0, _SIDE_PX / max(part.shape[:2]))
    size = (max(2, round(part.shape[1] * shrink)), max(2, round(part.shape[0] * shrink)))
    small = cv2.resize(part, size, interpolation=cv2.INTER_AREA)
    mask = np.zeros(small.shape[:2], np.uint8)
    for outline in outlines:
        cv2.fillConvexPoly(mask, np.round((outline - (left, top)) * shrink).astype(np.int32), 1)
    pixels = cv2.cvtColor(small, cv2.COLOR_RGB2HSV)[mask == 1].astype(int)
    if len(pixels) < _LEAST_PX:
        return np.full(COLOURS, np.nan, np.float32)
    return np.asarray(np.bincount(_bins(pixels), minlength=COLOURS) / len(pixels), dtype=np.float32)


def _outlines(body: Body) -> list[NDArray[np.float64]]:
    xy, unit = body.xy, max(float(body_unit(body.xy, body.visibility)), 1.0)
    if not body.sees([23, 24]):
        shoulders = xy[[11, 12]]
        middle = shoulders.mean(axis=0)
        half = np.array([0.4 * unit, 0])
        low = middle + np.array([0, 0.9 * unit])
        return [np.array([middle - half, middle + half, low + half, low - half])]
    outlines = [xy[list(_TRUNK)]]
    for hip, knee in _THIGHS:
        if body.visibility[knee] > VISIBLE:
            along = xy[knee] - xy[hip]
            across = np.array([-along[1], along[0]]) / max(float(np.hypot(*along)), 1e-9) * 0.15 * unit
            outlines.append(np.array([xy[hip] - across, xy[hip] + across, xy[knee] + across, xy[knee] - across]))
    return outlines


def _bins(hsv: NDArray[np.int_]) -> NDArray[np.int_]:
    hue, saturation, value = hsv.T
    coloured = hue * _HUES // 180 * _SATURATIONS + np.clip((saturation - _GREY) * _SATURATIONS // (256 - _GREY), 0, 2)
    lightness = _HUES * _SATURATIONS + value * _LIGHTS // 256
    return np.asarray(np.where((saturation < _GREY) | (value < _DARK), lightness, coloured))
