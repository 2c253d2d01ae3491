"""When everything of a script happens, once its lines have been spoken."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from .script import Doing, Line, Scene, Script
from .spoken import Heard, Spoken

LEAD_S: Final = 1.2
TAIL_S: Final = 1.5

_FIRST_TAP: Final = 0.3
_TAP_EVERY_S: Final = 0.9
_TAPS: Final = 2


@dataclass(frozen=True)
class Utterance:
    """A line from its first to its last word; `words` are in seconds of the attempt."""

    line: Line
    visit: int
    onset_s: float
    offset_s: float
    words: tuple[Heard, ...]


@dataclass(frozen=True)
class Action:
    """Something done at a visit; `taps_s` are the moments at which it knocks."""

    kind: str
    visit: int
    side: str | None
    onset_s: float
    offset_s: float
    taps_s: tuple[float, ...] = ()


@dataclass(frozen=True)
class Placed:
    """A scene from the first thing said or done for it to the last; asides belong to no step."""

    scene: Scene
    onset_s: float
    offset_s: float


@dataclass(frozen=True)
class Timeline:
    """All of an attempt in order of time."""

    seconds: float
    visits: tuple[Placed, ...]
    utterances: tuple[Utterance, ...]
    actions: tuple[Action, ...]


def place(script: Script, spoken: Sequence[Spoken]) -> Timeline:
    """Return when everything happens.

    Parameters
    ----------
    spoken
        What each of the script's lines sounds like, in their order.

    Raises
    ------
    ValueError
        If there are more or fewer pieces of speech than lines.
    """
    if len(spoken) != len(script.lines):
        raise ValueError(f"{len(spoken)} pieces of speech came for {len(script.lines)} lines; give one for each line")
    clock, pieces = LEAD_S, iter(spoken)
    visits, utterances, actions = [], list[Utterance](), list[Action]()
    for number, scene in enumerate(script.scenes):
        spans: list[tuple[float, float]] = []
        done: list[tuple[float, float]] = []
        for part in scene.parts:
            if isinstance(part, Doing):
                span = (clock, clock + part.seconds)
                done.append(span)
            else:
                utterances.append(_uttered(part, next(pieces), number, clock + part.pause_s))
                span = (utterances[-1].onset_s, utterances[-1].offset_s)
            if not (isinstance(part, Line) and part.kind == "aside"):
                spans.append(span)
            clock = span[1]
        visits.append(Placed(scene, spans[0][0], spans[-1][1]))
        actions += _action(scene, number, done)
    return Timeline(clock + TAIL_S, tuple(visits), tuple(utterances), tuple(actions))


def _uttered(line: Line, spoken: Spoken, visit: int, at_s: float) -> Utterance:
    words = tuple(Heard(word.word, at_s + word.onset_s, at_s + word.offset_s) for word in spoken.words)
    return Utterance(line, visit, at_s, at_s + spoken.seconds, words)


def _action(scene: Scene, visit: int, done: list[tuple[float, float]]) -> list[Action]:
    """Return what is done at a visit as one action, from its first moment to its last."""
    shows = next((part.shows for part in scene.parts if isinstance(part, Doing)), None)
    if shows is None:
        return []
    onset, offset = done[0][0], done[-1][1]
    taps = tuple(
        onset + _FIRST_TAP + number * _TAP_EVERY_S
        for number in range(_TAPS if shows.startswith("tap_") else 0)
        if onset + _FIRST_TAP + number * _TAP_EVERY_S < offset - _FIRST_TAP
    )
    return [Action(shows, visit, scene.visit.side, onset, offset, taps)]
