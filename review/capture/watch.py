"""One frame after another: who and what is in it, and where that is written."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from review.capture.background import Grey
from review.capture.cutout import back_to_picture, cut_out
from review.capture.detectors import Detectors, Face
from review.capture.hands import hands_of
from review.capture.head import (
    Body,
    Box,
    Points,
    head_box,
    is_small,
    seen_from_behind,
    seen_in_profile,
    stands_alone,
    stands_with_face,
)
from review.capture.picture import picture_values
from review.capture.upright import Picture
from review.capture.video import RawFrame
from review.domain.tracks import FACE_POINTS, FOUND

HEAD_STAYS_S: Final = 0.2
"""Where only a face is wanted, it is sought on the head of a body followed so many seconds before, or later.

The square cut around a head is one and a half shoulder widths wide, so a head that moves by half a metre in a second
stays well within it, and one that moves by a metre its middle half.
"""

_WITNESS_S: Final = 0.5
_CHEEKS: Final = (234, 454)


@dataclass(frozen=True, slots=True)
class Job:
    """One frame to look at: decoded, as picture, as image for the models, and what it is looked at for."""

    raw: RawFrame
    picture: Picture
    image: Any
    streams: frozenset[str]


@dataclass(frozen=True, slots=True)
class _SeenFace:
    """A face in the shown picture: points in px, and whether it was found on the whole picture."""

    face: Face
    xy: Points
    whole: bool

    @property
    def centre(self) -> Points:
        return np.asarray(self.xy.mean(axis=0))


@dataclass(slots=True)
class Watch:
    """What is known while a chunk is looked at, and where it is written.

    Attributes
    ----------
    arrays
        Values of the chunk's tracks by name.
    size
        Width and height as displayed.
    detectors
        The models.
    first
        Index of the chunk's first frame; frames before it are the warm-up and are not written.
    mirrored
        Whether the film shows the room mirrored.
    """

    arrays: dict[str, NDArray[Any]]
    size: tuple[int, int]
    detectors: Detectors
    first: int
    mirrored: bool
    face_is_large: bool = False
    believed_s: float = -np.inf
    grey: Grey | None = None
    last_body: tuple[float, Body | None] = (-np.inf, None)
    followed: tuple[float, Body | None] = (-np.inf, None)

    def body(self, job: Job) -> Body | None:
        """Follow the body, where it is wanted or may be needed to find a small face and was not just followed."""
        if "pose" not in job.streams and ("face" not in job.streams or self.face_is_large):
            return None
        known_s, known = self.followed
        if "pose" in job.streams or known is None or job.raw.time_s - known_s > HEAD_STAYS_S:
            known = self.detectors.pose(job.image, job.raw.time_s, self.size)
            self.followed = (job.raw.time_s, known)
        return known

    def rest(self, job: Job, body: Body | None) -> None:
        """Look for all else in a frame whose body is known, and write down what was wanted."""
        unsure = "pose" in job.streams and body is not None and not stands_alone(body)
        seen = self._seen_face(job, body) if "face" in job.streams or unsure else None
        if "face" in job.streams:
            self.face_is_large = seen is not None and seen.whole
            self._write_face(job, seen)
        if "pose" in job.streams and body is not None and self._believed(job, body, seen):
            self._write(job, "pose", pose_xy=body.xy, pose_visibility=body.visibility, pose_world=body.world)
        if "hand" in job.streams:
            self._hands(job, body)
        if "picture" in job.streams:
            self._picture(job, body)

    def _seen_face(self, job: Job, body: Body | None) -> _SeenFace | None:
        if body is None:
            return self._on_whole(job)
        sure = stands_alone(body)
        if sure and (seen_from_behind(body) or seen_in_profile(body)):
            return None
        box = head_box(body)
        if is_small(box, self.size):
            cut = self._on_cut(job, box)
            return cut if cut is not None or sure else self._on_whole(job)
        whole = self._on_whole(job)
        if whole is not None and (not sure or box.holds(whole.centre)):
            return whole
        return self._on_cut(job, box)

    def _on_whole(self, job: Job) -> _SeenFace | None:
        face = self.detectors.face(job.image, job.raw.time_s)
        return None if face is None else _SeenFace(face, face.xy * self.size, whole=True)

    def _on_cut(self, job: Job, box: Box) -> _SeenFace | None:
        cut, taken = cut_out(job.raw.frame, job.raw.shape, box, self.mirrored)
        face = self.detectors.face_cut(cut)
        return None if face is None else _SeenFace(face, back_to_picture(face.xy, taken), whole=False)

    def _believed(self, job: Job, body: Body, seen: _SeenFace | None) -> bool:
        if stands_alone(body) or stands_with_face(body, None if seen is None else seen.centre):
            self.believed_s = job.raw.time_s
        return job.raw.time_s - self.believed_s <= _WITNESS_S

    def _write_face(self, job: Job, seen: _SeenFace | None) -> None:
        if seen is None:
            return
        left, right = seen.xy[list(_CHEEKS)]
        self._write(
            job,
            "face",
            face_xy=seen.xy[list(FACE_POINTS)],
            face_width=np.hypot(*(left - right)),
            blendshape=seen.face.shapes,
            head_angle=seen.face.angles,
        )

    def _hands(self, job: Job, body: Body | None) -> None:
        hands = self.detectors.hands(job.image, job.raw.time_s, self.size)
        if body is not None:
            self.last_body = (job.raw.time_s, body)
        known_s, last = self.last_body
        bodies = [] if last is None or job.raw.time_s - known_s > _WITNESS_S else [(last.xy, last.visibility)]
        own, other = hands_of(hands, bodies, 0 if bodies else None)
        if hands:
            self._write(job, "hand", hand_xy=own, other_hand_xy=other)

    def _picture(self, job: Job, body: Body | None) -> None:
        self.grey, values = picture_values(job.picture, self.grey, () if body is None else (body,), self.size)
        self._write(job, "picture", **values)

    def _write(self, job: Job, stream: str, **values: NDArray[np.float64] | float) -> None:
        place = job.raw.index - self.first
        if place < 0:
            return
        self.arrays[f"{stream}_state"][place] = FOUND
        for name, value in values.items():
            self.arrays[name][place] = value
