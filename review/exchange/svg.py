"""What is drawn with a comment, as SVG in the pixels of the film's upright picture."""

from __future__ import annotations

import base64
import math
from typing import Final

from review.domain.model import Shape

_WING_PX: Final = 12.0
_WING_RAD: Final = 0.5
_POINT_PX: Final = 4


def drawing(shape: Shape, width_px: int, height_px: int) -> str:
    """Return a shape as an SVG document with one element, in a view box of the picture's size.

    A point is a small circle; an arrow is a path with its two wings.
    """
    element = _element(shape, width_px, height_px)
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width_px} {height_px}">{element}</svg>'


def _element(shape: Shape, width_px: int, height_px: int) -> str:
    x, y = shape.x * width_px, shape.y * height_px
    x2, y2 = (shape.x2 or 0.0) * width_px, (shape.y2 or 0.0) * height_px
    if shape.kind == "arrow":
        return f'<path d="{_arrow(x, y, x2, y2)}"/>'
    radius = _POINT_PX if shape.kind == "point" else math.hypot(x2 - x, y2 - y)
    return f'<circle cx="{_px(x)}" cy="{_px(y)}" r="{_px(radius)}"/>'


def _arrow(x: float, y: float, x2: float, y2: float) -> str:
    way = math.atan2(y2 - y, x2 - x)
    one, other = (
        f"L{_px(x2 - _WING_PX * math.cos(way + turn))} {_px(y2 - _WING_PX * math.sin(way + turn))}"
        for turn in (_WING_RAD, -_WING_RAD)
    )
    tip = f"{_px(x2)} {_px(y2)}"
    return f"M{_px(x)} {_px(y)} L{tip} {one} M{tip} {other}"


def _px(length: float) -> str:
    return f"{length:.2f}".rstrip("0").rstrip(".")


def drawn_on(picture: bytes, shape: Shape, width_px: int, height_px: int) -> str:
    """Return a JPEG picture with a shape drawn over it, dark on light so that it is seen on any ground, as SVG.

    Parameters
    ----------
    picture
        The JPEG file.
    width_px, height_px
        Size in which it is shown.
    """
    element = _element(shape, width_px, height_px)
    data = base64.b64encode(picture).decode()
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width_px} {height_px}" width="{width_px}" '
        f'height="{height_px}"><image width="{width_px}" height="{height_px}" href="data:image/jpeg;base64,{data}"/>'
        f'<g stroke="white" stroke-width="5" fill="none">{element}</g>'
        f'<g stroke="black" stroke-width="2" fill="none">{element}</g></svg>'
    )
