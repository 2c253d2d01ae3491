"""What is wrong with a film, in words for the people who made it, and what to do next time."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Final

import numpy as np
import xarray as xr

from review.domain.model import Event, Interval
from review.domain.tracks import found, looked
from review.measures.capture_quality import (
    DARK,
    GLARING,
    LOW_RATE_HZ,
    bad_light,
    blurred,
    body_in_view,
    camera_moves,
    camera_speed,
    contrast,
    face_size,
    fastest,
    flat,
    frame_gaps,
    frame_rate,
    frames_a_second,
    light,
    sharpness,
    stretches,
    typical,
)
from review.measures.capture_sound import HUM_SHARE, QUIET_DB, clipping, sound_clipped, sound_hum, sound_level

SILENT_DB: Final = -90.0
SMALL_FACE_PX: Final = 40.0
LEAST_BODY_SHARE: Final = 0.9
_FAULTY_SHARE = 0.2


@dataclass(frozen=True, slots=True)
class CaptureFault:
    """One thing that is wrong with a film, in words: what it is, what to do next time, and where it shows."""

    kind: str
    what: str
    advice: str
    where: tuple[Interval, ...]


_WORDS: Final[dict[str, tuple[str, str]]] = {
    "nobody": ("Nobody is found in most of the film.", "Check that the camera points at the partner before you begin."),
    "too_dark": ("The picture is too dark.", "Switch on the room light, or turn the partner towards the window."),
    "too_bright": ("The picture is overexposed.", "Keep the window or lamp out of the picture and behind the camera."),
    "flat": (
        "Light and dark hardly differ in the picture.",
        "Wipe the lens, turn away from a window or lamp that shines into it, and light the partner from the front.",
    ),
    "blurred": ("The picture is blurred.", "Wipe the lens, tap on the partner to focus, and give it more light."),
    "face_small": ("The face is too small in the picture.", "Move the camera closer or film this step as a close-up."),
    "face_missing": ("The face is not found.", "Film the face from the front, without a hand or mask before it."),
    "body_cut_off": (
        "The body is not in the picture from shoulders to feet.",
        "Move the camera back, or hold it upright, until the feet show with some floor below them.",
    ),
    "camera_moved": ("The camera moved.", "Put the camera on a stand or a shelf and do not touch it while filming."),
    "rate_low": ("The film has too few frames a second.", "Set the camera to 30 frames a second or more."),
    "no_sound": ("The film has no sound.", "Allow the camera app to use the microphone: findings are said aloud."),
    "quiet": ("The sound is very quiet.", "Put the phone within two metres, speak up, and keep the microphone free."),
    "clipped": ("The sound is clipped.", "Move the phone a little further away, or turn the recording level down."),
    "hum": ("The sound hums.", "Move the phone away from lamps, fridges and chargers while filming."),
    "frame_gap": (
        "Frames are missing in the film.",
        "Close other programs while recording.",
    ),
}


def capture_faults(tracks: xr.Dataset, view: Collection[str] = ()) -> tuple[CaptureFault, ...]:
    """Say what is wrong with a film or a stretch of it, and what to do next time; empty when nothing is.

    Light, contrast, sharpness, a person, a still camera and frames are always asked for; face and body only when
    `view` says that they must be in the picture. A fault of light, contrast, sharpness, face or body is named when it
    holds in at least a fifth of the usable frames.

    Parameters
    ----------
    tracks
        Tracks of the film or the stretch.
    view
        What must be in the picture, as in a checklist step.
    """
    events = [*_nobody(tracks), *_lasting(light(tracks), bad_light(light(tracks)))]
    events += [*_flat(tracks), *_lasting(sharpness(tracks), blurred(sharpness(tracks)))]
    events += [*camera_moves(camera_speed(tracks)), *_slow(tracks), *frame_gaps(frame_rate(tracks))]
    if "face" in view:
        events += [*_small_face(tracks), *_face_missing(tracks)]
    if {"whole_body", "feet"} & set(view):
        events += _cut_off(tracks)
    return tuple(
        CaptureFault(kind, *_WORDS[kind], tuple(event.interval for event in events if event.kind == kind))
        for kind in dict.fromkeys(event.kind for event in events)
    )


def sound_faults(tracks: xr.Dataset) -> list[CaptureFault]:
    """Say what is wrong with the sound of a whole film, and what to do next time; empty when nothing is.

    Quiet means that the loudest twentieth stays below `QUIET_DB`; clipped, that clipping lasts in some stretch; hum,
    that half of the power lies at the mains' frequencies half of the time.
    """
    if not looked(tracks, "sound").any():
        return []
    loudest, hum = fastest(sound_level(tracks))[0].value, typical(sound_hum(tracks))[0].value
    if loudest is None or hum is None or loudest <= SILENT_DB:
        kinds = ["no_sound"]
    else:
        told = {"quiet": loudest < QUIET_DB, "clipped": bool(clipping(sound_clipped(tracks))), "hum": hum > HUM_SHARE}
        kinds = [kind for kind, true in told.items() if true]
    return [CaptureFault(kind, *_WORDS[kind], (_whole(tracks, kind)[0].interval,)) for kind in kinds]


def _lasting(trace: xr.DataArray, events: tuple[Event, ...]) -> tuple[Event, ...]:
    """Keep events of the kinds that hold in enough of the known frames."""
    known = trace["time"].values[np.isfinite(trace.values)]
    kept = []
    for event in events:
        spans = [other.interval for other in events if other.kind == event.kind]
        held = sum(int(((known >= span.onset_s) & (known <= span.offset_s)).sum()) for span in spans)
        if held >= _FAULTY_SHARE * len(known):
            kept.append(event)
    return tuple(kept)


def _flat(tracks: xr.Dataset) -> tuple[Event, ...]:
    """Judge the contrast where the light is right: a picture that is too dark or too bright is flat by itself."""
    lit = light(tracks)
    trace = contrast(tracks).where((lit >= DARK) & (lit <= GLARING))
    return _lasting(trace, flat(trace))


def _small_face(tracks: xr.Dataset) -> tuple[Event, ...]:
    trace = face_size(tracks)
    return _lasting(trace, stretches(trace, "face_small", lambda values: values < SMALL_FACE_PX))


def _cut_off(tracks: xr.Dataset) -> tuple[Event, ...]:
    trace = body_in_view(tracks)
    return _lasting(trace, stretches(trace, "body_cut_off", lambda values: values < LEAST_BODY_SHARE))


def _nobody(tracks: xr.Dataset) -> tuple[Event, ...]:
    asked = looked(tracks, "pose") | looked(tracks, "face")
    somebody = found(tracks, "pose") | found(tracks, "face")
    return _whole(tracks, "nobody") if asked.any() and somebody[asked].mean() < _FAULTY_SHARE else ()


def _face_missing(tracks: xr.Dataset) -> tuple[Event, ...]:
    asked = looked(tracks, "face")
    missing = asked.any() and found(tracks, "face")[asked].mean() < 1 - _FAULTY_SHARE
    return _whole(tracks, "face_missing") if missing else ()


def _slow(tracks: xr.Dataset) -> tuple[Event, ...]:
    rate_hz = frames_a_second(frame_rate(tracks))[0].value
    return _whole(tracks, "rate_low") if rate_hz is not None and rate_hz < LOW_RATE_HZ else ()


def _whole(tracks: xr.Dataset, kind: str) -> tuple[Event, ...]:
    clock = tracks["time"].values
    return (Event(kind, Interval(float(clock[0]), float(clock[-1]))),)
