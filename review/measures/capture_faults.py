"""What is wrong with a film or a stretch of it, and where; `capture_words` says it in words."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Final

import numpy as np
import xarray as xr

from review.domain.model import Event, Interval
from review.domain.tracks import found, looked
from review.measures.capture_people import people_count, too_many
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
from review.measures.capture_words import FAULT_KINDS

SILENT_DB: Final = -90.0
SMALL_FACE_PX: Final = 40.0
LEAST_BODY_SHARE: Final = 0.9
FAULTY_SHARE: Final = 0.2


@dataclass(frozen=True, slots=True)
class CaptureFault:
    """One thing that is wrong with a film: its kind, one of `FAULT_KINDS`, and where it shows."""

    kind: str
    where: tuple[Interval, ...]

    @property
    def what(self) -> str:
        """What it is, in a sentence."""
        return FAULT_KINDS[self.kind].what

    @property
    def advice(self) -> str:
        """What to do next time, in a sentence."""
        return FAULT_KINDS[self.kind].advice


def capture_faults(
    tracks: xr.Dataset, view: Collection[str] = (), share: float = FAULTY_SHARE
) -> tuple[CaptureFault, ...]:
    """Say what is wrong with a film or a stretch of it, and what to do next time; empty when nothing is.

    Light, contrast, sharpness, a person and no more than two, a still camera and frames are always asked for; face and
    body only when `view` says that they must be in the picture. A fault of light, contrast, sharpness, people, face or
    body is named when it holds in at least `share` of the usable frames.

    Parameters
    ----------
    tracks
        Tracks of the film or the stretch.
    view
        What must be in the picture, as in a checklist step.
    share
        Least share (0 to 1) of the usable frames in which such a fault holds.
    """
    events = [*_nobody(tracks), *_lasting(light(tracks), bad_light(light(tracks)), share)]
    events += [*_flat(tracks, share), *_lasting(sharpness(tracks), blurred(sharpness(tracks)), share)]
    events += _lasting(people_count(tracks), too_many(people_count(tracks)), share)
    events += [*camera_moves(camera_speed(tracks)), *_slow(tracks), *frame_gaps(frame_rate(tracks))]
    if "face" in view:
        events += [*_small_face(tracks, share), *_face_missing(tracks, share)]
    if {"whole_body", "feet"} & set(view):
        events += _cut_off(tracks, share)
    return tuple(
        CaptureFault(kind, tuple(event.interval for event in events if event.kind == kind))
        for kind in dict.fromkeys(event.kind for event in events)
    )


def sound_faults(tracks: xr.Dataset) -> list[CaptureFault]:
    """Say what is wrong with the sound of a whole film, and what to do next time; empty when nothing is.

    Quiet means that the loudest twentieth stays below `QUIET_DB`; clipped, that clipping lasts in some stretch; hum,
    that half of the power lies at the mains' frequencies half of the time.
    """
    if not looked(tracks, "sound").any():
        return []
    where = {"clipped": clipping(sound_clipped(tracks))}
    loudest, hum = fastest(sound_level(tracks))[0].value, typical(sound_hum(tracks))[0].value
    if loudest is None or hum is None or loudest <= SILENT_DB:
        kinds = ["no_sound"]
    else:
        told = {"quiet": loudest < QUIET_DB, "clipped": bool(where["clipped"]), "hum": hum > HUM_SHARE}
        kinds = [kind for kind, true in told.items() if true]
    return [
        CaptureFault(kind, tuple(event.interval for event in where.get(kind) or _whole(tracks, kind))) for kind in kinds
    ]


def _lasting(trace: xr.DataArray, events: tuple[Event, ...], share: float) -> tuple[Event, ...]:
    """Keep events of the kinds that hold in enough of the known frames."""
    known = trace["time"].values[np.isfinite(trace.values)]
    kept = []
    for event in events:
        spans = [other.interval for other in events if other.kind == event.kind]
        held = sum(int(((known >= span.onset_s) & (known <= span.offset_s)).sum()) for span in spans)
        if held >= share * len(known):
            kept.append(event)
    return tuple(kept)


def _flat(tracks: xr.Dataset, share: float) -> tuple[Event, ...]:
    """Judge the contrast where the light is right: a picture that is too dark or too bright is flat by itself."""
    lit = light(tracks)
    trace = contrast(tracks).where((lit >= DARK) & (lit <= GLARING))
    return _lasting(trace, flat(trace), share)


def _small_face(tracks: xr.Dataset, share: float) -> tuple[Event, ...]:
    trace = face_size(tracks)
    return _lasting(trace, stretches(trace, "face_small", lambda values: values < SMALL_FACE_PX), share)


def _cut_off(tracks: xr.Dataset, share: float) -> tuple[Event, ...]:
    trace = body_in_view(tracks)
    return _lasting(trace, stretches(trace, "body_cut_off", lambda values: values < LEAST_BODY_SHARE), share)


def _nobody(tracks: xr.Dataset) -> tuple[Event, ...]:
    asked = looked(tracks, "pose") | looked(tracks, "face")
    somebody = found(tracks, "pose") | found(tracks, "face")
    kind = "lifeless" if tracks.attrs.get("lifeless", False) else "nobody"
    return _whole(tracks, kind) if asked.any() and somebody[asked].mean() < FAULTY_SHARE else ()


def _face_missing(tracks: xr.Dataset, share: float) -> tuple[Event, ...]:
    asked = looked(tracks, "face")
    missing = asked.any() and found(tracks, "face")[asked].mean() < 1 - share
    return _whole(tracks, "face_missing") if missing else ()


def _slow(tracks: xr.Dataset) -> tuple[Event, ...]:
    rate_hz = frames_a_second(frame_rate(tracks))[0].value
    return _whole(tracks, "rate_low") if rate_hz is not None and rate_hz < LOW_RATE_HZ else ()


def _whole(tracks: xr.Dataset, kind: str) -> tuple[Event, ...]:
    clock = tracks["time"].values
    return (Event(kind, Interval(float(clock[0]), float(clock[-1]))),)
