"""What can be wrong with a film: each fault in plain words, what to do next time, and what it keeps from being seen."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from review.domain.model import Reason

_ALL_VIEWS: Final = ("face", "upper_body", "whole_body", "feet", "hands", "limb")
_FINE_VIEWS: Final = ("face", "hands", "limb")


@dataclass(frozen=True, slots=True)
class FaultKind:
    """One thing that can be wrong with a film.

    Parameters
    ----------
    what, advice
        What it is and what to do next time, a sentence each.
    hides
        What somebody who watches the film cannot see well for it, in the words of a checklist step's `view`.
    reasons
        Why measures have no number for it.
    weakens
        Whether measures go on and give worse numbers without a reason of their own.
    heard
        Whether it lies in the sound.
    """

    what: str
    advice: str
    hides: tuple[str, ...] = ()
    reasons: tuple[Reason, ...] = ()
    weakens: bool = False
    heard: bool = False


FAULT_KINDS: Final[dict[str, FaultKind]] = {
    "nobody": FaultKind(
        "Nobody is found in most of the film.",
        "Check that the camera points at the partner before you begin.",
        _ALL_VIEWS,
        (Reason.NOBODY_FOUND,),
    ),
    "lifeless": FaultKind(
        "What is seen as a person never moves.",
        "Check that the camera points at the partner, not at a picture or a dummy.",
        _ALL_VIEWS,
        (Reason.LIFELESS,),
    ),
    "person_unsure": FaultKind(
        "It is often not sure which person is the examined one.",
        "Click on the partner on the Review page; next time keep apart, and let nobody else into the picture.",
        reasons=(Reason.PERSON_UNSURE,),
    ),
    "too_many": FaultKind(
        "More than two people are in the picture.",
        "Ask the others to step out of the picture, and film one pair at a time.",
        weakens=True,
    ),
    "too_dark": FaultKind(
        "The picture is too dark.",
        "Switch on the room light, or turn the partner towards the window.",
        _ALL_VIEWS,
        (Reason.TOO_DARK,),
        weakens=True,
    ),
    "too_bright": FaultKind(
        "The picture is overexposed.",
        "Keep the window or lamp out of the picture and behind the camera.",
        _ALL_VIEWS,
        weakens=True,
    ),
    "flat": FaultKind(
        "Light and dark hardly differ in the picture.",
        "Wipe the lens, turn away from a window or lamp that shines into it, and light the partner from the front.",
        _ALL_VIEWS,
        weakens=True,
    ),
    "blurred": FaultKind(
        "The picture is blurred.",
        "Wipe the lens, tap on the partner to focus, and give it more light.",
        _FINE_VIEWS,
        weakens=True,
    ),
    "face_small": FaultKind(
        "The face is too small in the picture.",
        "Move the camera closer or film this step as a close-up.",
        ("face",),
        (Reason.FACE_SMALL,),
    ),
    "face_missing": FaultKind(
        "The face is not found.",
        "Film the face from the front, without a hand or mask before it.",
        ("face",),
        (Reason.FACE_NOT_FOUND,),
    ),
    "face_turned": FaultKind(
        "The face is turned away from the camera.",
        "Put the camera straight in front of the partner's face, at the height of the eyes.",
        ("face",),
        (Reason.HEAD_TURNED,),
    ),
    "body_cut_off": FaultKind(
        "The body is not in the picture from shoulders to feet.",
        "Move the camera back, or hold it upright, until the feet show with some floor below them.",
        ("whole_body", "feet"),
        (Reason.BODY_OUT_OF_VIEW, Reason.FEET_OUT_OF_VIEW, Reason.NOBODY_FOUND),
    ),
    "oblique": FaultKind(
        "The body is seen too much from the side.",
        "Put the camera straight in front of the partner for the stance.",
        reasons=(Reason.OBLIQUE_VIEW,),
    ),
    "camera_moved": FaultKind(
        "The camera moved.",
        "Put the camera on a stand or a shelf and do not touch it while filming.",
        reasons=(Reason.CAMERA_MOVED,),
    ),
    "rate_low": FaultKind(
        "The film has too few frames a second.",
        "Set the camera to 30 frames a second or more.",
        ("limb",),
        (Reason.RATE_LOW,),
    ),
    "frame_gap": FaultKind(
        "Frames are missing in the film.",
        "Close other programs while recording.",
        weakens=True,
    ),
    "no_sound": FaultKind(
        "The film has no sound.",
        "Allow the camera app to use the microphone: findings are said aloud.",
        heard=True,
    ),
    "quiet": FaultKind(
        "The sound is very quiet.",
        "Put the phone within two metres, speak up, and keep the microphone free.",
        heard=True,
    ),
    "clipped": FaultKind(
        "The sound is clipped.",
        "Move the phone a little further away, or turn the recording level down.",
        heard=True,
    ),
    "hum": FaultKind(
        "The sound hums.",
        "Move the phone away from lamps, fridges and chargers while filming.",
        heard=True,
    ),
}
"""All of them by their kind."""
