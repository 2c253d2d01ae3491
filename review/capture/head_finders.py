"""Find every head in a picture: bodies on the whole of it and on its parts, faces on the whole, on parts, and close up.

Each model hands what it is given to a small square, so that people far away are lost on the whole picture. They are
found on parts of it, which take turns: a person who stays is met by all of them within two seconds of film.
"""

from __future__ import annotations

import zipfile
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass, field
from itertools import cycle, islice
from types import TracebackType
from typing import Any, Final, Self

import numpy as np
from numpy.typing import NDArray

from review.capture.circles import FaceBox, about, head_of_body, head_of_face, shows_head
from review.capture.detectors import bodies_in, native_image, opened, started
from review.capture.head import Body
from review.capture.models import Models
from review.capture.upright import Picture

MOST_HEADS: Final = 8
"""How many bodies the model of the whole picture is asked for."""

Part = tuple[int, int, int]
"""Left and top edge and side of a square of the picture, px."""

_WHOLE_PX: Final = 960
_FACE_PX: Final = 192
_BODY_PX: Final = 320
_FACE_PARTS: Final = (0.4, 0.2)
_FACE_PARTS_A_LOOK: Final = 6
_BODY_PART: Final = 0.5
_SMALLEST_PART_PX: Final = 96
_SCORE: Final = {"whole": 0.6, "part": 0.6, "close": 0.5}
_CLOSE_UP: Final = (3.0, 4.0)
_ALIKE: Final = 1.7
_LARGEST_OF_PART: Final = 0.3
_BODY_ABOUT: Final = 9.0
_BODY_BELOW: Final = 2.5
_LEGS: Final = slice(25, 33)
_NONE: Final = -1
_SEVERAL: Final = -2


@dataclass(frozen=True, slots=True)
class Found:
    """A head found in a picture.

    Attributes
    ----------
    circle
        Middle and radius, shape ``(3,)``, px.
    body
        Place of its body among those of the whole picture, -1 for a head found otherwise, -2 where two bodies have
        their heads so close together that they are one.
    beside
        Further circles that were found of it.
    """

    circle: NDArray[np.float64]
    body: int = _NONE
    beside: tuple[NDArray[np.float64], ...] = ()


@dataclass(slots=True)
class HeadFinders:
    """The models that find heads, for one film; use it as a context manager."""

    models: Models
    _stack: ExitStack = field(default_factory=ExitStack)
    _open: dict[str, Any] = field(default_factory=dict)
    _turns: dict[str, Iterator[Part]] = field(default_factory=dict)
    _stamp: int = -1

    def __enter__(self) -> Self:
        for name, mode, most in (("bodies", "VIDEO", MOST_HEADS), ("part", "IMAGE", 3)):
            self._open[name] = self._stack.enter_context(
                opened("PoseLandmarker", self.models.pose, mode, num_poses=most)
            )
        with zipfile.ZipFile(self.models.face) as bundle:
            detector = bundle.read("face_detector.tflite")
        self._open["face"] = self._stack.enter_context(
            started("FaceDetector", detector, "IMAGE", min_detection_confidence=_SCORE["close"])
        )
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._stack.close()

    def bodies(self, picture: Picture, time_s: float) -> list[Body]:
        """Follow the bodies on the whole picture, in no order."""
        height, width = picture.shape[:2]
        self._stamp = max(round(time_s * 100_000), self._stamp + 1)
        small = native_image(_scaled(picture, _WHOLE_PX))
        return bodies_in(self._open["bodies"].detect_for_video(small, self._stamp), (width, height))

    def heads(self, picture: Picture, bodies: list[Body], known: NDArray[np.float64]) -> list[Found]:
        """Return all heads of a picture.

        Parameters
        ----------
        picture
            RGB, upright.
        bodies
            What `bodies` said of it.
        known
            Where heads should be, as they were just before; shape ``(head, 3)``, px.
        """
        shown = [number for number, body in enumerate(bodies) if shows_head(body)]
        found = [Found(head_of_body(bodies[number])[0], number) for number in shown]
        found += [Found(circle) for circle in self._on_part(picture, bodies)]
        places = [*(each.circle for each in found), *known]
        squares = [_square(circle[:2], _CLOSE_UP[1] * circle[2]) for circle in places]
        faces = [face for square in squares for face in self._faces(picture, square, _SCORE["close"])]
        faces += [close for face in self._afresh(picture) if (close := self._closely(picture, face)) is not None]
        found += [Found(head_of_face(face)[0]) for face in faces]
        seen = np.array([each.circle for each in found]).reshape(-1, 3)
        lost = [circle for circle in known if not about(circle, seen).any()]
        return found + [Found(again) for circle in lost for again in self._body_again(picture, circle, bodies)]

    def _body_again(
        self, picture: Picture, circle: NDArray[np.float64], bodies: list[Body]
    ) -> list[NDArray[np.float64]]:
        """Look for the body of a head that was not seen, close up, then further around; return the circles of heads."""
        below = np.array([0.0, _BODY_BELOW * circle[2]])
        part = _square(circle[:2] + below, _BODY_ABOUT * circle[2])
        found = [head for head, body in self._bodies_on(picture, part) if body.sees([0, 11, 12])]
        here = [head for head in found if about(circle, head[None])[0]]
        return here or self._believed_on(picture, _square(circle[:2] + below, 2 * _BODY_ABOUT * circle[2]), bodies)

    def _bodies_on(self, picture: Picture, part: Part) -> list[tuple[NDArray[np.float64], Body]]:
        """Return the bodies on a part of the picture, with the circles of their heads."""
        left, top, side = part
        cut = native_image(_resized(_cut(picture, part), _BODY_PX))
        bodies = bodies_in(self._open["part"].detect(cut), (side, side))
        return [(head_of_body(body)[0] + (left, top, 0), body) for body in bodies]

    def _afresh(self, picture: Picture) -> list[FaceBox]:
        """Look for faces on the whole picture and on the parts whose turn it is."""
        height, width = picture.shape[:2]
        whole = _square(np.array([width / 2, height / 2]), max(width, height))
        faces = self._faces(picture, whole, _SCORE["whole"])
        for part in islice(self._turn("face", picture, _FACE_PARTS), _FACE_PARTS_A_LOOK):
            faces += self._faces(picture, part, _SCORE["part"])
        return faces

    def all_faces(self, picture: Picture) -> list[FaceBox]:
        """Return all faces that are found on the whole picture and on every part of it, whosever turn it is."""
        height, width = picture.shape[:2]
        whole = _square(np.array([width / 2, height / 2]), max(width, height))
        faces = self._faces(picture, whole, _SCORE["whole"])
        for part in (part for share in _FACE_PARTS for part in parts(width, height, share)):
            faces += self._faces(picture, part, _SCORE["part"])
        return [close for face in faces if (close := self._closely(picture, face)) is not None]

    def _closely(self, picture: Picture, face: FaceBox) -> FaceBox | None:
        """Look at a face again from close by, which tells most of what was none."""
        again = self._faces(picture, _square(face.centre, _CLOSE_UP[0] * face.width), _SCORE["close"])
        alike = [each for each in again if 1 / _ALIKE < each.width / face.width < _ALIKE]
        return max(alike, key=lambda each: each.score, default=None)

    def _on_part(self, picture: Picture, bodies: list[Body]) -> list[NDArray[np.float64]]:
        """Look for bodies on the part whose turn it is; return the circles of heads that may be believed.

        A part may show the legs alone of somebody: what is answered on those of a known body is left out.
        """
        turn = islice(self._turn("body", picture, (_BODY_PART,)), 1)
        return [circle for part in turn for circle in self._believed_on(picture, part, bodies)]

    def _believed_on(self, picture: Picture, part: Part, bodies: list[Body]) -> list[NDArray[np.float64]]:
        """Return the heads of bodies on a part that show nose, shoulders and hips and lie on nobody's legs."""
        return [
            circle
            for circle, body in self._bodies_on(picture, part)
            if body.sees([0, 11, 12, 23, 24])
            and circle[2] < _LARGEST_OF_PART * part[2]
            and not any(_on_legs(circle, other) for other in bodies)
        ]

    def _faces(self, picture: Picture, square: Part, score: float) -> list[FaceBox]:
        left, top, side = square
        cut = _resized(_cut(picture, square), _FACE_PX)
        boxes = []
        for face in self._open["face"].detect(native_image(cut)).detections:
            if face.categories[0].score >= score:
                box, scale = face.bounding_box, side / _FACE_PX
                points = np.array([(point.x, point.y) for point in face.keypoints]) * side
                centre = np.array([box.origin_x + box.width / 2, box.origin_y + box.height / 2]) * scale + (left, top)
                up = points[:2].mean(axis=0) - points[3]
                boxes.append(FaceBox(centre, box.width * scale, up, face.categories[0].score))
        return boxes

    def _turn(self, name: str, picture: Picture, shares: tuple[float, ...]) -> Iterator[Part]:
        height, width = picture.shape[:2]
        if name not in self._turns:
            self._turns[name] = cycle([part for share in shares for part in parts(width, height, share)])
        return self._turns[name]


def parts(width: int, height: int, share: float) -> list[Part]:
    """Cover a picture by squares that overlap by a quarter at least; none if they were too small to show anybody.

    Parameters
    ----------
    share
        Their side, as a share of the picture's shorter one.

    Examples
    --------
    >>> parts(400, 300, 0.5)[:3]
    [(0, 0, 150), (83, 0, 150), (166, 0, 150)]
    >>> parts(128, 96, 0.2)
    []
    """
    side = int(share * min(width, height))
    if side < _SMALLEST_PART_PX:
        return []
    lefts, tops = (
        np.linspace(0, length - side, int(np.ceil((length - side) / (0.75 * side))) + 1).astype(int)
        for length in (width, height)
    )
    return [(int(left), int(top), side) for top in tops for left in lefts]


def merged(found: list[Found]) -> list[Found]:
    """Put together what was found of one head: its smallest circle, which is the closest fit, and all others beside."""
    left = sorted(found, key=lambda each: -each.circle[2])
    heads = []
    while left:
        same = about(left[0].circle, np.array([each.circle for each in left]))
        mine = [each for each, is_same in zip(left, same, strict=True) if is_same]
        left = [each for each, is_same in zip(left, same, strict=True) if not is_same]
        bodies = {each.body for each in mine if each.body != _NONE}
        whose = _SEVERAL if len(bodies) > 1 else max(bodies, default=_NONE)
        heads.append(Found(mine[-1].circle, whose, tuple(each.circle for each in mine[:-1])))
    return heads


def _on_legs(circle: NDArray[np.float64], body: Body) -> bool:
    seen = body.visibility[_LEGS] > _SCORE["close"]
    away = np.hypot(*(body.xy[_LEGS] - circle[:2]).T)
    return bool((away[seen] < 1.5 * circle[2]).any())


def _square(centre: NDArray[np.float64], side: float) -> Part:
    whole = max(16, round(side))
    return round(centre[0] - whole / 2), round(centre[1] - whole / 2), whole


def _cut(picture: Picture, part: Part) -> Picture:
    """Cut a square out of a picture; what lies beyond the edge is black."""
    left, top, side = part
    height, width = picture.shape[:2]
    if left >= 0 and top >= 0 and left + side <= width and top + side <= height:
        return picture[top : top + side, left : left + side]
    cut = np.zeros((side, side, 3), np.uint8)
    low_x, low_y, high_x, high_y = max(0, left), max(0, top), min(width, left + side), min(height, top + side)
    if high_x > low_x and high_y > low_y:
        cut[low_y - top : high_y - top, low_x - left : high_x - left] = picture[low_y:high_y, low_x:high_x]
    return cut


def _resized(cut: Picture, side: int) -> Picture:
    import cv2

    way = cv2.INTER_AREA if len(cut) > side else cv2.INTER_LINEAR
    return np.ascontiguousarray(cv2.resize(cut, (side, side), interpolation=way), dtype=np.uint8)


def _scaled(picture: Picture, long_side: int) -> Picture:
    import cv2

    height, width = picture.shape[:2]
    scale = min(1.0, long_side / max(height, width))
    if scale == 1.0:
        return np.ascontiguousarray(picture)
    size = (round(width * scale), round(height * scale))
    return np.ascontiguousarray(cv2.resize(picture, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)
