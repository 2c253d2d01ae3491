"""Which steps of a checklist the faults of a film spoil."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import xarray as xr

from review.domain.checklist import Checklist, Step
from review.domain.measure import Measure
from review.domain.model import Interval, Mark, Reason
from review.domain.tracks import cut, found
from review.measures import measure
from review.measures.capture_faults import FAULTY_SHARE, capture_faults, sound_faults
from review.measures.capture_quality import frame_rate, frames_a_second
from review.measures.capture_words import FAULT_KINDS
from review.pipeline.values import paced, step_measures, traced

How = Literal["measured", "seen", "heard"]
"""What of a step is spoilt: its numbers, what a grader sees, what is said aloud."""

Holds = Literal["always", "filmed so", "done then"]
"""For which steps it holds: for those named, or if they were filmed like this, or if they were done then."""

Where = dict[str, tuple[Interval, ...]]
"""Kind of fault -> where it shows."""

_NEARLY_ALL: Final = 0.8
_MOSTLY: Final = 0.5
_EMPTY: Final = frozenset({"nobody", "lifeless"})
_FRAMING: Final = frozenset({"face_small", "face_missing", "face_turned", "body_cut_off", "oblique"})


@dataclass(frozen=True, slots=True)
class CheckedFault:
    """A fault of a film with the steps it spoils.

    Parameters
    ----------
    kind
        One of `review.measures.capture_words.FAULT_KINDS`.
    where
        Where it shows, in seconds of the film.
    spoils
        What of which step, each with its key in the sheet; in the sheet's order.
    holds
        "always" for marked steps, and for a fault of the whole film; without marks "filmed so" for one of framing, and
        "done then" for one that shows in a part of the film only.
    """

    kind: str
    where: tuple[Interval, ...]
    spoils: tuple[tuple[How, str], ...]
    holds: Holds


def checked(tracks: xr.Dataset, sheet: Checklist, marks: Iterable[Mark] = ()) -> tuple[CheckedFault, ...]:
    """Find the faults of a film and the steps they spoil.

    Where steps are marked, each is judged by its own seconds and by what must be in its picture. Without marks nobody
    knows which seconds are whose: a face that is too small or a body cut off is then a fault only if it is so in four
    fifths of the film, for close-ups and whole bodies take turns in a good one.

    A step's numbers count as spoilt where its measures say so themselves (some frames have no number for
    that reason), where they need more frames a second than there are, and where the picture is too poor for
    landmarks to be trusted.

    Parameters
    ----------
    tracks
        Tracks of the whole film.
    sheet
        The checklist.
    marks
        Where its steps lie.
    """
    film = {fault.kind: fault.where for fault in (*capture_faults(tracks), *sound_faults(tracks))}
    order = {step.id: place for place, step in enumerate(sheet.steps())}
    stretches = [(sheet.step(one.step_id), one.interval) for one in marks if one.step_id in order]
    stretches = [(step, seconds) for step, seconds in stretches if seconds.duration_s > 0]
    passed: frozenset[str] = frozenset()
    if stretches:
        judged = [_of_stretch(tracks, step, seconds, film) for step, seconds in stretches]
    else:
        film = _with_framing(tracks, film)
        judged, passed = _of_film(tracks, sheet, film), _on_purpose(tracks, sheet)
    told = []
    for kind in (kind for kind in FAULT_KINDS if kind in film or any(kind in one.hows for one in judged)):
        where = film.get(kind) or tuple(sorted({part for one in judged for part in one.where.get(kind, ())}))
        spoils = {(how, one.step) for one in judged for how in one.hows.get(kind, ())}
        ranked = sorted(spoils, key=lambda pair: (pair[0], order[pair[1]]))
        if kind in passed or (kind in _FRAMING and not spoils):
            continue
        holds = "always" if stretches else _unmarked(kind, where, tracks)
        told.append(CheckedFault(kind, where, tuple(ranked), holds))
    return tuple(told)


def _unmarked(kind: str, where: Iterable[Interval], tracks: xr.Dataset) -> Holds:
    """Tell for which steps a fault holds as long as nobody said where they lie."""
    clock = tracks["time"].values
    if kind in _FRAMING:
        return "filmed so"
    most_s = _NEARLY_ALL * float(clock[-1] - clock[0])
    return "done then" if sum(part.duration_s for part in where) < most_s else "always"


@dataclass(frozen=True, slots=True)
class _Found:
    """Kind of fault -> what it spoils of a step, and where it shows."""

    step: str
    hows: Mapping[str, frozenset[How]]
    where: Where


def _with_framing(tracks: xr.Dataset, film: Where) -> Where:
    """Add the faults of framing that hold in nearly all of the film."""
    framed = capture_faults(tracks, ("face", "feet"), _NEARLY_ALL)
    return _once(film | {fault.kind: fault.where for fault in framed if fault.kind in _FRAMING})


def _on_purpose(tracks: xr.Dataset, sheet: Checklist) -> frozenset[str]:
    """Return what is no fault of a close-up: that the body is cut off, in a film that shows a face well throughout.

    Nobody films a close-up unawares where the checklist has steps on the face; a wide picture of everything is what
    people film without thinking of it, so the other way round a small face stays a fault.
    """
    asks = any("face" in step.view for step in sheet.steps())
    faults = {fault.kind for fault in capture_faults(tracks, ("face",))}
    close_up = asks and found(tracks, "face").any() and not {"face_small", "face_missing"} & faults
    return frozenset({"body_cut_off"}) if close_up else frozenset()


def _once(shown: Where) -> Where:
    """Leave out what follows of itself: where nobody is found there is no face and no body either."""
    return {kind: where for kind, where in shown.items() if not _EMPTY & shown.keys() or kind not in _FRAMING}


def _of_film(tracks: xr.Dataset, sheet: Checklist, film: Where) -> list[_Found]:
    """Judge every step by the whole film."""
    names = dict.fromkeys(name for step in sheet.steps() for name in step.measures)
    lost = {name: _lost(tracks, measure(name)) for name in names}
    rate_hz = _rate_hz(tracks)
    clock = tracks["time"].values
    throughout = (Interval(float(clock[0]), float(clock[-1])),)
    judged = []
    for step in sheet.steps():
        mine = [lost[name] for name in step.measures]
        shown = _once({kind: throughout for kind in _told_by_measures(mine, _NEARLY_ALL)} | film)
        judged.append(_Found(step.id, {kind: _hows(kind, step, mine, rate_hz) for kind in shown}, shown))
    return judged


def _of_stretch(tracks: xr.Dataset, step: Step, seconds: Interval, film: Where) -> _Found:
    """Judge a step by its own seconds."""
    part = cut(tracks, seconds.onset_s, seconds.offset_s)
    if part.sizes["time"] < 2:
        return _Found(step.id, {}, {})
    shown = {fault.kind: fault.where for fault in capture_faults(part, step.view)}
    shown |= {kind: where for kind, where in film.items() if FAULT_KINDS[kind].heard and _meet(where, seconds)}
    lost = [_lost(part, one) for one in step_measures(step)]
    shown |= {kind: (seconds,) for kind in _told_by_measures(lost, _MOSTLY) if kind not in shown}
    shown, rate_hz = _once(shown), _rate_hz(part)
    return _Found(step.id, {kind: _hows(kind, step, lost, rate_hz) for kind in shown}, shown)


def _meet(where: Iterable[Interval], seconds: Interval) -> bool:
    return any(part.onset_s <= seconds.offset_s and seconds.onset_s <= part.offset_s for part in where)


def _rate_hz(part: xr.Dataset) -> float:
    """Return the frames to a second of life."""
    return frames_a_second(frame_rate(paced(part, 1 / part.attrs["slow_motion"])))[0].value or 0.0


def _lost(part: xr.Dataset, of: Measure) -> Mapping[str, float]:
    """Return kind of fault -> share of the frames in which a measure has no number for it."""
    codes = traced(part, of)["reason"].values
    asked = codes[codes != int(Reason.NOT_LOOKED)]
    kinds = FAULT_KINDS if len(asked) else {}
    return {kind: float(np.isin(asked, fault.reasons).mean()) for kind, fault in kinds.items()}


def _told_by_measures(lost: Iterable[Mapping[str, float]], most: float) -> set[str]:
    """Name the faults for which a measure loses much, where it loses most frames for faults of the film.

    That nobody is there is no single measure's to tell: one that finds no body may miss it in a close-up of a face.
    """
    told = set()
    for shares in ({kind: share for kind, share in all_of.items() if kind != "nobody"} for all_of in lost):
        if sum(shares.values()) >= most:
            told |= {kind for kind, share in shares.items() if share >= FAULTY_SHARE}
    return told


def _hows(kind: str, step: Step, lost: Iterable[Mapping[str, float]], rate_hz: float) -> frozenset[How]:
    """Tell what of a step a fault spoils."""
    of = FAULT_KINDS[kind]
    in_view = bool({*of.hides} & {*step.view})
    told: dict[How, bool] = {
        "measured": any(shares.get(kind, 0.0) > 0 for shares in lost)
        or (of.weakens and bool(step.measures) and (in_view or not of.hides))
        or (kind == "rate_low" and _asks_more(step, rate_hz)),
        "seen": in_view,
        "heard": of.heard and bool(step.finding),
    }
    return frozenset(how for how, true in told.items() if true)


def _asks_more(step: Step, rate_hz: float) -> bool:
    return any(need.rate_hz > rate_hz for one in step_measures(step) for need in one.needs)
