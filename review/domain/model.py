"""The things Runthrough speaks of: people, recordings, marks, grades, comments, values.

Times are presentation times in seconds from the first video frame of the recording. Left and right are the
examined person's own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import IntEnum, StrEnum
from typing import Literal

from review.domain.course import CourseRole
from review.domain.errors import EntryRefused
from review.domain.sharing import UNSHARED, Sharing

Side = Literal["left", "right"]

ShapeKind = Literal["point", "circle", "arrow"]


class Role(StrEnum):
    """What a person is in an attempt."""

    LEARNER = "learner"
    PEER = "peer"
    INSTRUCTOR = "instructor"


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who marks, grades or comments; known by a code, never by a name Runthrough asks for.

    `courses` is what the person is in which course, by the course's id; None on a machine without accounts, where
    whoever is at it may act as anybody.
    """

    id: str
    code: str
    role: Role
    courses: Mapping[str, CourseRole] | None = None

    def __hash__(self) -> int:
        return hash(self.id)


@dataclass(frozen=True, slots=True, order=True)
class Interval:
    """A stretch of a recording, from `onset_s` to `offset_s`, both in seconds; a moment has both equal."""

    onset_s: float
    offset_s: float

    def __post_init__(self) -> None:
        ordered = 0 <= self.onset_s <= self.offset_s < float("inf")
        if not ordered:
            raise EntryRefused(
                f"An interval from {self.onset_s} s to {self.offset_s} s came; expected a start at or after 0 s "
                "and an end not before the start. Set the start first, then the end after it."
            )

    @property
    def duration_s(self) -> float:
        """Length in seconds."""
        return self.offset_s - self.onset_s

    def holds(self, time_s: float) -> bool:
        """Tell whether `time_s` lies inside, both ends included."""
        return self.onset_s <= time_s <= self.offset_s


class Reason(IntEnum):
    """Why a value is missing or weak: the closed list. 0 means that nothing is wrong."""

    NONE = 0
    NOT_LOOKED = 1
    NOBODY_FOUND = 2
    FACE_NOT_FOUND = 3
    FACE_SMALL = 4
    HEAD_TURNED = 5
    FEET_OUT_OF_VIEW = 6
    BODY_OUT_OF_VIEW = 7
    OBLIQUE_VIEW = 8
    CAMERA_MOVED = 9
    TOO_SHORT = 10
    FRAME_GAP = 11
    BELOW_NOISE = 12
    RATE_LOW = 13
    POSTURE_NOT_HELD = 14
    TOO_FEW_FRAMES = 15
    NOT_SEEN = 16
    EYES_CLOSED = 17
    TOO_DARK = 18
    NO_SCALE = 19
    NO_SOUND = 20
    PERSON_UNSURE = 21
    LIMB_OUT_OF_VIEW = 22
    HAND_NOT_FOUND = 23
    HAND_OVER_FACE = 24
    TRUNK_TURNED = 25
    LIMB_NOT_RELAXED = 26
    MODEL_BLIND = 27
    SOUND_CLIPPED = 28
    SOUND_NOISY = 29
    TOO_UNSURE = 30
    NOT_HEARD = 31
    CAMERA_UNCHECKED = 32
    LIFELESS = 33
    NO_WHISPER = 34
    NO_USUAL_VOICE = 35
    SPEAKERS_ALIKE = 36
    NO_ANSWER = 37

    @property
    def words(self) -> str:
        """The reason in plain words, for a screen."""
        return _REASON_WORDS[self]


_REASON_WORDS = {
    Reason.NONE: "usable",
    Reason.NOT_LOOKED: "not analysed yet",
    Reason.NOBODY_FOUND: "nobody found in the picture",
    Reason.FACE_NOT_FOUND: "no face found",
    Reason.FACE_SMALL: "face too small in the picture",
    Reason.HEAD_TURNED: "head turned too far from the camera",
    Reason.FEET_OUT_OF_VIEW: "feet out of view",
    Reason.BODY_OUT_OF_VIEW: "whole body not in view",
    Reason.OBLIQUE_VIEW: "seen too much from the side",
    Reason.CAMERA_MOVED: "the camera moved",
    Reason.TOO_SHORT: "stretch too short",
    Reason.FRAME_GAP: "frames missing in the film",
    Reason.BELOW_NOISE: "below what this film can show",
    Reason.RATE_LOW: "too few frames a second",
    Reason.POSTURE_NOT_HELD: "posture not taken up",
    Reason.TOO_FEW_FRAMES: "too few usable frames",
    Reason.NOT_SEEN: "not seen",
    Reason.EYES_CLOSED: "eyes closed",
    Reason.TOO_DARK: "picture too dark",
    Reason.NO_SCALE: "no scale, as the partner's height is not given",
    Reason.NO_SOUND: "the film has no sound here",
    Reason.PERSON_UNSURE: "not sure which person is the examined one",
    Reason.LIMB_OUT_OF_VIEW: "the limb is out of view",
    Reason.HAND_NOT_FOUND: "no hand found",
    Reason.HAND_OVER_FACE: "a hand is before the face",
    Reason.TRUNK_TURNED: "the trunk turned along",
    Reason.LIMB_NOT_RELAXED: "the limb moved before the tap",
    Reason.MODEL_BLIND: "this cannot be seen by the landmark models",
    Reason.SOUND_CLIPPED: "the sound is clipped",
    Reason.SOUND_NOISY: "too much noise in the sound",
    Reason.TOO_UNSURE: "too unsure on this film to be said",
    Reason.NOT_HEARD: "no speech was heard",
    Reason.CAMERA_UNCHECKED: "nothing behind the person tells whether the camera stood still",
    Reason.LIFELESS: "what is seen never moves, like a picture or a dummy",
    Reason.NO_WHISPER: "no whisper was heard",
    Reason.NO_USUAL_VOICE: "too little talk aloud in the film to compare with",
    Reason.SPEAKERS_ALIKE: "who speaks cannot be told apart",
    Reason.NO_ANSWER: "no answer was heard",
}


@dataclass(frozen=True, slots=True)
class Recording:
    """One filmed attempt's file: an immutable original, named by its SHA-256, with facts read from it.

    Width and height are those of the picture as displayed, after rotation and pixel aspect, in pixels. `slow_motion`
    is how many times slower the film plays than life went by (1 for an ordinary film); `duration_s` is the film's.
    `sharing` is who else may see it.
    """

    id: str
    sha256: str
    name: str
    added_at: datetime
    added_by: str
    duration_s: float
    frames: int
    width_px: int
    height_px: int
    rotation_deg: int
    codec: str
    bit_depth: int
    has_sound: bool
    size_bytes: int
    mirrored: bool = False
    attempt: int = 1
    checklist_id: str | None = None
    checklist_version: int | None = None
    partner_height_mm: float | None = None
    original: str = ""
    playback: str = ""
    notes: tuple[str, ...] = ()
    slow_motion: float = 1.0
    sharing: Sharing = UNSHARED


@dataclass(frozen=True, slots=True)
class Pointing:
    """Where somebody said that the examined person is: a place in the picture at a moment.

    `x` and `y` are shares (0 to 1) of the width and height of the upright, unmirrored picture, from its top left
    corner. A pointing holds from its moment until the next one; the earliest holds also before.
    """

    id: str
    recording_id: str
    time_s: float
    x: float
    y: float
    person_id: str
    at: datetime
    removed: bool = False


@dataclass(frozen=True, slots=True)
class Mark:
    """Where a step lies in time, said by a person. `revision` counts its changes from 1."""

    id: str
    recording_id: str
    step_id: str
    side: Side | None
    interval: Interval
    person_id: str
    at: datetime
    revision: int = 1
    removed: bool = False


@dataclass(frozen=True, slots=True)
class Grade:
    """A level of the checklist's own scale, given to a step (or to one criterion of it) by a person.

    `after_reveal` tells whether the person had seen the step's estimates and others' grades by then; None where that
    was not noted.
    """

    id: str
    recording_id: str
    step_id: str
    side: Side | None
    criterion_id: str | None
    level: str
    confidence: int | None
    person_id: str
    at: datetime
    revision: int = 1
    removed: bool = False
    after_reveal: bool | None = None


@dataclass(frozen=True, slots=True)
class Shape:
    """Something drawn on the frame that a comment speaks of.

    Places are shares (0 to 1) of the width and height of the upright, unmirrored picture, from its top left corner.
    A point lies at `x`, `y`; a circle has its centre there and goes through `x2`, `y2`; an arrow starts there and
    points at `x2`, `y2`.
    """

    kind: ShapeKind
    x: float
    y: float
    x2: float | None = None
    y2: float | None = None


@dataclass(frozen=True, slots=True)
class Comment:
    """A remark at a moment or a stretch of a recording.

    `resolved_by` is the id of the person who said that it is settled, and `resolved_at` when; None while it is open.
    """

    id: str
    recording_id: str
    interval: Interval
    text: str
    person_id: str
    at: datetime
    step_id: str | None = None
    side: Side | None = None
    reply_to: str | None = None
    revision: int = 1
    removed: bool = False
    shape: Shape | None = None
    resolved_by: str | None = None
    resolved_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Phrase:
    """A sentence that a person keeps to put into comments."""

    id: str
    person_id: str
    text: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Exemplar:
    """A stretch of a recording that shows a step of a checklist, on one of its sides, done well."""

    id: str
    checklist_id: str
    step_id: str
    side: Side | None
    recording_id: str
    interval: Interval
    person_id: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Uncovering:
    """That a person came to see the estimates and others' grades of a step; of all steps where `step_id` is None."""

    recording_id: str
    person_id: str
    step_id: str | None
    side: Side | None
    at: datetime

    def reaches(self, step_id: str, side: Side | None) -> bool:
        """Tell whether a step, on one of its sides, is uncovered by this."""
        return self.step_id is None or (self.step_id, self.side) == (step_id, side)


@dataclass(frozen=True, slots=True)
class Estimate:
    """What a measure says of one stretch: a number or None, with its 95 % interval.

    Parameters
    ----------
    value, low, high
        Number and ends of its 95 % interval in the measure's unit; all None when nothing can be said.
    usable
        Share (0 to 1) of the frames of the stretch that could be used.
    reasons
        Why the number is missing or weak, most frequent first; empty when nothing is wrong.
    evidence
        The stretches the number rests on.
    side
        The examined person's own side, where the measure has sides.
    """

    value: float | None
    low: float | None
    high: float | None
    usable: float
    reasons: tuple[Reason, ...] = ()
    evidence: tuple[Interval, ...] = ()
    side: Side | None = None


@dataclass(frozen=True, slots=True)
class Event:
    """Something a measure saw happen: its kind, when, on which side; `peak` in the trace's unit, if any."""

    kind: str
    interval: Interval
    side: Side | None = None
    peak: float | None = None


@dataclass(frozen=True, slots=True)
class Value:
    """An estimate tied to the recording, the measure and the step it was made for."""

    recording_id: str
    measure: str
    unit: str
    estimate: Estimate
    step_id: str | None = None
    step_side: Side | None = None
    events: tuple[Event, ...] = field(default=())
