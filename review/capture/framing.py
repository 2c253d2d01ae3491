"""A single picture of an open camera: what to change before filming, in plain sentences."""

from __future__ import annotations

from functools import lru_cache
from typing import Any, Final, Literal

import numpy as np

from review.capture.detectors import native_image, opened
from review.capture.head import VISIBLE
from review.capture.models import find_models
from review.capture.picture import grey_of, light_of
from review.capture.quiet import quiet_native
from review.capture.upright import Picture
from review.domain.errors import EntryRefused
from review.measures.capture_quality import DARK

View = Literal["face", "body"]

LONGEST_SIDE_PX: Final = 1280
SMALLEST_FACE: Final = 0.2
"""Least height of the face in a close-up, share of the picture's shorter side (common practice, no source)."""

_FEET: Final = (27, 28, 29, 30, 31, 32)
_MOST_PEOPLE: Final = 2


def framing(jpeg: bytes, view: View) -> tuple[str, ...]:
    """Tell what is wrong with how a picture is framed; nothing if all is well.

    The models are opened once in a process and stay open, so call it in a process of its own.

    Parameters
    ----------
    jpeg
        The picture, small: 480 px wide is enough.
    view
        Whether the face fills the picture, or the whole body must be in it.

    Raises
    ------
    EntryRefused
        If the bytes are no picture, or one with a side of more than 1280 px.
    ModelRefused
        If the models cannot be opened.
    """
    picture = _decoded(jpeg)
    said = []
    if light_of(grey_of(picture)).brightness < DARK:
        said.append("It is too dark: switch on the light, or turn the partner towards the window.")
    with quiet_native():
        bodies = _models()["body"].detect(native_image(picture)).pose_landmarks
        faces = _models()["face"].detect(native_image(picture)).face_landmarks
    if len(bodies) > _MOST_PEOPLE:
        said.append("More than two people are in view: let only the partner and the examiner be in the picture.")
    if view == "face":
        return (*said, *_close_up(faces, picture))
    return (*said, *_whole_body(bodies))


def _decoded(jpeg: bytes) -> Picture:
    import cv2

    try:
        found: Any = cv2.imdecode(np.frombuffer(jpeg, np.uint8), cv2.IMREAD_COLOR) if jpeg else None
    except cv2.error:
        found = None
    if found is None or max(found.shape) > LONGEST_SIDE_PX:
        raise EntryRefused(f"A JPEG picture of at most {LONGEST_SIDE_PX} px a side was expected. Reload the page.")
    return np.ascontiguousarray(found[..., ::-1])


def _close_up(faces: list[Any], picture: Picture) -> list[str]:
    if not faces:
        return ["Nobody's face is in view: point the camera at it from the front."]
    height, width = picture.shape[:2]
    tallest = max(max(point.y for point in face) - min(point.y for point in face) for face in faces)
    if tallest * height < SMALLEST_FACE * min(height, width):
        return ["The face is too small: move the camera closer."]
    return []


def _whole_body(bodies: list[Any]) -> list[str]:
    if not bodies:
        return ["Nobody is in view: point the camera at the partner."]
    if not any(_feet_in_view(body) for body in bodies):
        return ["The feet are not in view: move the camera back or tilt it down."]
    return []


def _feet_in_view(body: Any) -> bool:
    feet = [body[place] for place in _FEET]
    return all(0 <= foot.x <= 1 and 0 <= foot.y <= 1 and foot.visibility >= VISIBLE for foot in feet)


@lru_cache(maxsize=1)
def _models() -> dict[str, Any]:
    models = find_models()
    return {
        "body": opened("PoseLandmarker", models.pose, "IMAGE", num_poses=_MOST_PEOPLE + 1),
        "face": opened("FaceLandmarker", models.face, "IMAGE", num_faces=_MOST_PEOPLE),
    }
