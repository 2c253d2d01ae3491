"""The landmark models, opened for one chunk and closed with it."""

from __future__ import annotations

from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path
from threading import Lock
from types import TracebackType
from typing import Any, Final, Self

import numpy as np
from numpy.typing import NDArray

from review.capture.head import Body, Hand, Points
from review.capture.models import APT_LINE, Models, missing_libraries
from review.capture.upright import Picture
from review.domain.errors import ModelRefused
from review.domain.sightings import MOST_HANDS, MOST_PEOPLE

_PACE: Final = {"pose": 100}
"""Factor on the time stamps handed to a model that follows.

The body's model smooths slow movement away by the clock it is given: a shoulder sway of 2.7 mm RMS (rendered, known)
read 1.0 mm on true stamps and 2.4 mm on stamps a hundred times as far apart, at the same cost and with no loss of
tracking. Smoothing is the measures' own, without a shift in time.
"""


_BODY_MODELS: Final = {
    "pose": ("VIDEO", 1),
    "poses": ("VIDEO", MOST_PEOPLE),
}


@dataclass(frozen=True, slots=True)
class Face:
    """One answer of the face model.

    Attributes
    ----------
    xy
        The 478 face points, as shares of the picture handed in, shape ``(478, 2)``.
    shapes
        The 52 expression weights, shape ``(52,)``.
    angles
        Yaw, pitch, roll of the head, deg.
    """

    xy: Points
    shapes: Points
    angles: Points


@dataclass(slots=True)
class Detectors:
    """Landmark models for one run of frames; use it as a context manager.

    Each model that follows a person through time sees one stream of whole pictures only. Cut-out heads go to a
    model of their own that looks at every picture afresh.
    """

    models: Models
    _stack: ExitStack = field(default_factory=ExitStack)
    _open: dict[str, Any] = field(default_factory=dict)
    _last_ms: dict[str, int] = field(default_factory=dict)
    _tracked: set[str] = field(default_factory=set)
    _opening: Lock = field(default_factory=Lock)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._stack.close()

    def open(self, *names: str) -> None:
        """Open models before they are first used: ``pose(s)``, ``face``, ``face_cut``, ``hand``."""
        for name in names:
            self._model(name)

    def pose(self, image: Any, time_s: float, size: tuple[int, int]) -> Body | None:
        """Follow the body on a whole picture (see `native_image`), which is shown at `size` (width, height) px."""
        bodies = bodies_in(self._found("pose", "pose_landmarks", image, time_s), size)
        return bodies[0] if bodies else None

    def poses(self, image: Any, time_s: float, size: tuple[int, int]) -> list[Body]:
        """Follow up to `review.domain.sightings.MOST_PEOPLE` bodies on a whole picture, in no order."""
        return bodies_in(self._follow("poses", image, time_s), size)

    def face(self, image: Any, time_s: float) -> Face | None:
        """Follow the face on a whole picture."""
        return _face(self._found("face", "face_landmarks", image, time_s))

    def face_cut(self, picture: Picture) -> Face | None:
        """Find the face on a cut-out head."""
        return _face(self._model("face_cut").detect(native_image(picture)))

    def hands(self, image: Any, time_s: float, size: tuple[int, int]) -> list[Hand]:
        """Follow up to `review.domain.sightings.MOST_HANDS` hands on a whole picture, the surest side guess first."""
        answer = self._follow("hand", image, time_s)
        ranked = sorted(zip(answer.handedness, answer.hand_landmarks, strict=True), key=lambda each: -each[0][0].score)
        return [
            Hand(sides[0].category_name.lower() == "left", np.array([(point.x, point.y) for point in points]) * size)
            for sides, points in ranked
        ]

    def _follow(self, name: str, image: Any, time_s: float) -> Any:
        stamp = max(round(time_s * 1000 * _PACE.get(name, 1)), self._last_ms.get(name, -1) + 1)
        self._last_ms[name] = stamp
        return self._model(name).detect_for_video(image, stamp)

    def _found(self, name: str, kind: str, image: Any, time_s: float) -> Any:
        """Follow, and where a track is lost look at the same picture afresh, which a lost track makes a model do."""
        followed = name in self._tracked
        answer = self._follow(name, image, time_s)
        if followed and not getattr(answer, kind):
            answer = self._follow(name, image, time_s)
        (self._tracked.add if getattr(answer, kind) else self._tracked.discard)(name)
        return answer

    def _model(self, name: str) -> Any:
        if name not in self._open:
            with self._opening:
                if name not in self._open:
                    self._open[name] = self._stack.enter_context(_created(name, self.models))
        return self._open[name]


def _created(name: str, models: Models) -> Any:
    if name in _BODY_MODELS:
        mode, most = _BODY_MODELS[name]
        return opened("PoseLandmarker", models.pose, mode, num_poses=most)
    if name == "hand":
        return opened("HandLandmarker", models.hand, "VIDEO", num_hands=MOST_HANDS)
    extras = {"output_face_blendshapes": True, "output_facial_transformation_matrixes": True}
    return opened("FaceLandmarker", models.face, "IMAGE" if name == "face_cut" else "VIDEO", num_faces=1, **extras)


def opened(kind: str, path: Path, mode: str, **more: Any) -> Any:
    """Open one model.

    Parameters
    ----------
    kind
        ``PoseLandmarker``, ``FaceLandmarker`` or ``HandLandmarker``.
    path
        The model's file.
    mode
        ``VIDEO`` for a model that follows, ``IMAGE`` for one that looks at every picture afresh.
    more
        Further options of that kind.

    Raises
    ------
    ModelRefused
        If the computer lacks a shared library, or the file is no model.
    """
    try:
        model = path.read_bytes()
    except OSError as fault:
        raise start_refusal(fault) from fault
    return started(kind, model, mode, **more)


def started(kind: str, model: bytes, mode: str, **more: Any) -> Any:
    """Open a model that is in memory; see `opened`. ``FaceDetector`` is a further kind."""
    try:
        from mediapipe.tasks.python import vision
        from mediapipe.tasks.python.core.base_options import BaseOptions

        base = BaseOptions(model_asset_buffer=model)
        options = getattr(vision, f"{kind}Options")(base_options=base, running_mode=vision.RunningMode[mode], **more)
        return getattr(vision, kind).create_from_options(options)
    except (ImportError, OSError, RuntimeError, ValueError) as fault:
        raise start_refusal(fault) from fault


def start_refusal(fault: Exception) -> ModelRefused:
    """Make the error for models that do not start; it names shared libraries that are missing, if that is why."""
    missing = missing_libraries()
    if missing:
        return ModelRefused(
            f"The landmark models cannot start: this computer lacks {', '.join(missing)}. Install them with: {APT_LINE}"
        )
    return ModelRefused(f"The landmark models cannot start ({fault}). Reinstall mediapipe and try again.")


def native_image(picture: Picture) -> Any:
    """Hand a C-contiguous RGB picture over to the models' library, which copies it."""
    import mediapipe

    return mediapipe.Image(image_format=mediapipe.ImageFormat.SRGB, data=picture)


def bodies_in(answer: Any, size: tuple[int, int]) -> list[Body]:
    """Return the bodies of an answer of the pose model on a picture that is shown at `size` (width, height) px."""
    return [
        Body(
            xy=np.array([(point.x, point.y) for point in points]) * size,
            visibility=np.array([point.visibility for point in points], dtype=np.float64),
            world=np.array([(point.x, point.y, point.z) for point in world]),
        )
        for points, world in zip(answer.pose_landmarks, answer.pose_world_landmarks, strict=True)
    ]


def _face(answer: Any) -> Face | None:
    if not answer.face_landmarks:
        return None
    return Face(
        xy=np.array([(point.x, point.y) for point in answer.face_landmarks[0]]),
        shapes=np.array([shape.score for shape in answer.face_blendshapes[0]], dtype=np.float64),
        angles=head_angles(np.asarray(answer.facial_transformation_matrixes[0], dtype=np.float64)),
    )


def head_angles(matrix: NDArray[np.float64]) -> Points:
    """Return yaw, pitch, roll in degrees of a head whose pose is `matrix`, shape ``(4, 4)``.

    The matrix turns the head's axes (x to its own left, y up, z out of the face) into the camera's (x to the
    picture's right, y up, z towards the camera). Yaw is + when turned to its own left, pitch + when looking up,
    roll + when tilted to its own left; for a head R = Ry(yaw) Rx(-pitch) Rz(-roll).

    Examples
    --------
    >>> head_angles(np.eye(4)).tolist()
    [0.0, 0.0, 0.0]
    """
    yaw = np.arctan2(matrix[0, 2], matrix[2, 2])
    pitch = np.arctan2(matrix[1, 2], np.hypot(matrix[0, 2], matrix[2, 2]))
    roll = np.arctan2(-matrix[1, 0], matrix[1, 1])
    return np.asarray(np.degrees([yaw, pitch, roll]) + 0.0, dtype=np.float64)
