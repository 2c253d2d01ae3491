"""What was seen and heard besides words that speaks for steps: events that the measures find in the whole film."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from review.domain.checklist import Step
from review.domain.model import Event, Interval, Side, Value
from review.domain.tracks import found
from review.measures.gaze_positions import CARDINAL
from review.measures.hand_over_face import hand_over
from review.signals.runs import true_runs

Numbers = NDArray[np.float64]

_STANCE: Final = frozenset({"stance_width", "base_of_support", "hold_time", "postural_sway", "sway_velocity"})
_LEAST_S: Final = 0.5


@dataclass(frozen=True, slots=True)
class Cue:
    """Something seen or heard that belongs to some steps.

    Attributes
    ----------
    name, words
        Its name, and what it is in words for people.
    measure
        Whose events it is made of.
    kinds
        Which of them; empty for all.
    wanted_by
        The measures by which a step shows that it belongs to it.
    sided
        Whether the side of an event speaks for the side of the step.
    """

    name: str
    words: str
    measure: str
    wanted_by: frozenset[str]
    kinds: frozenset[str] = frozenset()
    sided: bool = False


def _alone(name: str, words: str, of: str, sided: bool = False) -> Cue:
    return Cue(name, words, of, frozenset({of}), sided=sided)


CUES: Final = (
    Cue(
        "eyes_closed", "eyes closed", "eye_closure", frozenset({"eyes_closed_share", "hold_time"}), frozenset({"held"})
    ),
    Cue(
        "gaze",
        "eyes looking far out",
        "gaze_sweep",
        frozenset({"gaze_sweep", "gaze_extent", "target_path", "target_pace"}),
        frozenset(CARDINAL),
    ),
    Cue("touch", "face touched", "touch_sequence", frozenset({"touch_sequence", "touch_rhythm"})),
    _alone("face_moves", "face moving", "facial_movement"),
    _alone("head_turned", "head turned", "neck_rotation", sided=True),
    _alone("shrug", "shoulders lifted", "shoulder_elevation"),
    Cue("feet_together", "feet together", "stance_width", _STANCE),
    _alone("tap", "tap heard", "tap_moment"),
    _alone("elbow_jerk", "elbow jerking", "elbow_jerk", sided=True),
    _alone("wrist_jerk", "wrist jerking", "wrist_jerk", sided=True),
    _alone("knee_jerk", "knee jerking", "knee_jerk", sided=True),
    _alone("ankle_jerk", "ankle jerking", "ankle_jerk", sided=True),
)
"""All cues but the hand near the face."""

HAND_NEAR_FACE: Final = Cue("hand_near_face", "hand near the face", "", frozenset())

ALL: Final = (*CUES, HAND_NEAR_FACE)

MEASURES: Final = frozenset(cue.measure for cue in CUES)
"""Those whose events are cues."""

NAMES: Final = tuple(f"seen_{cue.name}" for cue in ALL)
"""Names of what speaks for a step by what was seen."""

STATED: Final = MappingProxyType(
    {
        "inside.seen_eyes_closed": 1.5,
        "inside.seen_gaze": 1.0,
        "inside.seen_touch": 0.7,
        "inside.seen_face_moves": 0.4,
        "inside.seen_head_turned": 0.7,
        "inside.seen_shrug": 1.0,
        "inside.seen_feet_together": 0.7,
        "inside.seen_tap": 0.7,
        "inside.seen_elbow_jerk": 0.5,
        "inside.seen_wrist_jerk": 0.5,
        "inside.seen_knee_jerk": 1.0,
        "inside.seen_ankle_jerk": 0.5,
        "inside.seen_hand_near_face": 0.4,
        "inside.seen_side": 0.5,
        "inside.seen_other_side": -0.5,
    }
)
"""Weights of the cues for each 2 s: author's choice, not learned."""


@dataclass(frozen=True, slots=True)
class Seen:
    """When a cue was there.

    Attributes
    ----------
    cue
        Which.
    intervals
        When, and on which side; a moment counts as half a second.
    """

    cue: Cue
    intervals: tuple[tuple[Interval, Side | None], ...]

    def seconds(self, edges: Sequence[Interval], side: Side | None = None) -> Numbers:
        """Return for how long it was there in each interval, on a side or, without one, on any."""
        mine = [one for one, on in self.intervals if side is None or on == side]
        return np.array([sum(_shared(one, edge) for one in mine) for edge in edges], np.float64)


def _shared(one: Interval, other: Interval) -> float:
    return max(0.0, min(one.offset_s, other.offset_s) - max(one.onset_s, other.onset_s))


def cues_seen(tracks: xr.Dataset, values: Iterable[Value]) -> tuple[Seen, ...]:
    """Return when each cue was there.

    Parameters
    ----------
    tracks
        Of the whole film, those of hand and face already read.
    values
        What the measures of the cues (`MEASURES`) say of the whole film.
    """
    happened: dict[str, dict[Event, None]] = {}
    for value in values:
        happened.setdefault(value.measure, {}).update(dict.fromkeys(value.events))
    events = (Seen(cue, tuple(_of_cue(cue, happened.get(cue.measure, ())))) for cue in CUES)
    return (*events, Seen(HAND_NEAR_FACE, tuple(_hands(tracks))))


def _of_cue(cue: Cue, happened: Iterable[Event]) -> Iterator[tuple[Interval, Side | None]]:
    for event in happened:
        if not cue.kinds or event.kind in cue.kinds:
            onset_s, offset_s = event.interval.onset_s, event.interval.offset_s
            yield Interval(onset_s, max(offset_s, onset_s + _LEAST_S)), event.side


def _hands(tracks: xr.Dataset) -> Iterator[tuple[Interval, Side | None]]:
    seen = np.flatnonzero(found(tracks, "hand") & found(tracks, "face"))
    if len(seen):
        near = hand_over(tracks.isel(time=seen), grown=1.2)
        for run in true_runs(tracks["time"].values[seen], near, _LEAST_S):
            yield Interval(run.onset_s, run.offset_s), None


def wanted_by(cue: Cue, step: Step) -> bool:
    """Tell whether a cue belongs to a step.

    Hands come near the face where both are to be in the picture; closed eyes belong to a step as well whose sheet asks
    for a closure of some length.
    """
    if cue is HAND_NEAR_FACE:
        return {"face", "hands"} <= set(step.view)
    closure = step.target("eye_closure")
    if cue.name == "eyes_closed" and closure is not None and (closure.low or 0.0) > 0:
        return True
    return bool(cue.wanted_by & set(step.measures))
