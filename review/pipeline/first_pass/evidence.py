"""What speaks for each step in each piece of talk: its findings, its name, its words, the side that is said."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from review.domain.checklist import Checklist
from review.domain.model import Interval
from review.domain.spoken import Hit
from review.domain.transcript import Transcript
from review.pipeline.first_pass.alike import alike
from review.pipeline.first_pass.pieces import Piece, pieces
from review.pipeline.first_pass.seen import NAMES, Seen, wanted_by
from review.pipeline.first_pass.vocabulary import Known, stems, vocabulary
from review.speech.exact import SIDES
from review.speech.phrases import spot

Numbers = NDArray[np.float64]

OF_STEP: Final = (
    "finding",
    "finding_unclear",
    "finding_words",
    "name",
    "name_word",
    "name_words",
    "doing_words",
    "alike_words",
)
"""What of a piece speaks for a step."""

OF_TALK: Final = ("opens", "pause_before", "to_partner", "finding_before", "few_words", "aside")
"""What of a piece says whether a step begins, whichever it is."""

OF_SIDE: Final = ("side", "covered_side", "finding_side")
"""What of a piece speaks for a side; the other side is told apart."""

_OPENERS: Final = frozenset(
    "next now then moving first let's test testing check checking start going".split()  # noqa: SIM905 - reads better
)
_TO_PARTNER: Final = frozenset({"you", "your", "please", "me", "my"})
_ASIDES: Final = frozenset(
    "good great perfect excellent nice thanks thank okay ok alright sorry wait second fine well done".split()  # noqa: SIM905
)
_TURNING: Final = frozenset({"other", "change", "same"})
_COVERING: Final = frozenset({"cover", "covers", "covering", "close", "closes", "closing", "shut", "block"})
_MOST: Final = 2.5
_LONG_PAUSE_S: Final = 8.0
_ENOUGH_S: Final = 2.0
_BEHIND_S: Final = 5.0


@dataclass(frozen=True)
class Evidence:
    """What speaks for what in a film's talk, piece by piece.

    Attributes
    ----------
    pieces
        The pieces of talk.
    of_step
        Shape ``(what, piece, step)``, of `OF_STEP`.
    of_talk
        Shape ``(what, piece)``, of `OF_TALK`.
    of_side
        Shape ``(what, piece, side)``, of `OF_SIDE`; sides as in `SIDES`.
    turning
        Whether a piece speaks of the other side without saying which, shape ``(piece,)``.
    of_seen
        For how much of 2 s what belongs to a step was seen during a piece and the pause behind it, shape ``(what,
        piece, step)``, of `review.pipeline.first_pass.seen.NAMES`.
    seen_side
        The same of what has a side, all together, shape ``(piece, step, side)``.
    found
        The findings that were heard.
    named
        Where steps were named.
    seen
        What was seen.
    """

    pieces: tuple[Piece, ...]
    of_step: Numbers
    of_talk: Numbers
    of_side: Numbers
    turning: Numbers
    of_seen: Numbers
    seen_side: Numbers
    found: tuple[Hit, ...]
    named: tuple[Hit, ...]
    seen: tuple[Seen, ...]

    @property
    def onsets(self) -> Numbers:
        """When each piece begins, seconds."""
        return np.array([piece.onset_s for piece in self.pieces])


def evidence(words: Transcript, sheet: Checklist, found: Sequence[Hit], seen: Sequence[Seen] = ()) -> Evidence:
    """Gather what speaks for the steps of a sheet in a transcript.

    Parameters
    ----------
    found
        The findings of the sheet that were heard in it.
    seen
        What was seen in the film.
    """
    said = pieces(words)
    known = vocabulary(sheet)
    named = spot(words, known.names)
    places = {step.id: place for place, step in enumerate(sheet.steps())}
    of_step = np.zeros((len(OF_STEP), len(said), len(places)))
    of_side = np.zeros((len(OF_SIDE), len(said), len(SIDES)))
    _put_findings(of_step, of_side, said, found, places)
    _put_names(of_step, said, named, places)
    others = alike((token.text for piece in said for token in piece.tokens), known.rare)
    for place, piece in enumerate(said):
        texts = list(stems([token.text for token in piece.tokens]))
        for step, words_of in enumerate(known.steps):
            of_step[2, place, step] = _sum(words_of.finding, texts)
            of_step[5, place, step] = _sum(words_of.name, texts)
            of_step[6, place, step] = _sum(words_of.doing, texts)
            of_step[7, place, step] = _alike_sum(words_of, piece, others)
        _put_sides(of_side, place, [token.text for token in piece.tokens])
    turning = np.array([float(any(token.text in _TURNING for token in piece.tokens)) for piece in said])
    of_seen, seen_side = _seen(said, seen, sheet)
    talk = _talk(said, of_step)
    return Evidence(said, of_step, talk, of_side, turning, of_seen, seen_side, tuple(found), named, tuple(seen))


def _put_findings(
    of_step: Numbers, of_side: Numbers, said: Sequence[Piece], found: Iterable[Hit], places: Mapping[str, int]
) -> None:
    for hit in found:
        place = piece_at(said, (hit.interval.onset_s + hit.interval.offset_s) / 2)
        row, worth = (1, 1.0) if hit.heard == "unclear" else (0, (hit.confidence - 0.5) * 2)
        step = places[hit.step_id]
        of_step[row, place, step] = max(of_step[row, place, step], worth)
        if hit.side is not None:
            of_side[2, place, SIDES.index(hit.side)] = 1.0


def _put_sides(of_side: Numbers, place: int, words: Sequence[str]) -> None:
    """Note the sides that a piece names; one that is to be covered or closed is told apart."""
    for number, word in enumerate(words):
        if word in SIDES:
            row = 1 if _COVERING & set(words[max(0, number - 3) : number]) else 0
            of_side[row, place, SIDES.index(word)] = 1.0


def _put_names(of_step: Numbers, said: Sequence[Piece], named: Iterable[Hit], places: Mapping[str, int]) -> None:
    for hit in named:
        if hit.heard == "unclear":
            continue
        place = piece_at(said, (hit.interval.onset_s + hit.interval.offset_s) / 2)
        row = 3 if " " in hit.words else 4
        step = places[hit.step_id]
        of_step[row, place, step] = max(of_step[row, place, step], (hit.confidence - 0.5) * 2)


def _seen(said: Sequence[Piece], seen: Sequence[Seen], sheet: Checklist) -> tuple[Numbers, Numbers]:
    """Lay out what was seen during each piece and the pause behind it."""
    steps = list(sheet.steps())
    of_seen = np.zeros((len(NAMES), len(said), len(steps)))
    seen_side = np.zeros((len(said), len(steps), len(SIDES)))
    edges = [Interval(one.onset_s, max(one.offset_s, other.onset_s)) for one, other in pairwise(said)]
    edges += [Interval(said[-1].onset_s, said[-1].offset_s + _BEHIND_S)] if said else []
    for one in seen:
        wanted = np.array([wanted_by(one.cue, step) for step in steps], np.float64)
        of_seen[NAMES.index(f"seen_{one.cue.name}")] = np.outer(_amount(one.seconds(edges)), wanted)
        for number, side in enumerate(SIDES if one.cue.sided else ()):
            seen_side[:, :, number] += np.outer(_amount(one.seconds(edges, side)), wanted)
    return of_seen, seen_side


def _amount(seconds: Numbers) -> Numbers:
    return np.minimum(1.0, seconds / _ENOUGH_S)


def piece_at(said: Sequence[Piece], time_s: float) -> int:
    """Return the place of the last piece that begins at or before a moment."""
    return max(0, int(np.searchsorted([piece.onset_s for piece in said], time_s, side="right")) - 1)


def _sum(weights: Mapping[str, float], texts: Iterable[str]) -> float:
    return min(_MOST, sum(weights.get(text, 0.0) for text in set(texts)))


def _alike_sum(known: Known, piece: Piece, others: Mapping[str, Mapping[str, float]]) -> float:
    """Return how much what sounds like words of a step speaks for it, each word heard for the best of them."""
    found = 0.0
    for token in piece.tokens:
        scores = others.get(token.text, {}).items()
        found += max((score * known.weight(stem) for word, score in scores for stem in stems([word])), default=0.0)
    return min(_MOST, found)


def _talk(said: Sequence[Piece], of_step: Numbers) -> Numbers:
    told = np.zeros((len(OF_TALK), len(said)))
    for place, piece in enumerate(said):
        words = [token.text for token in piece.tokens]
        before = said[place - 1].offset_s if place else piece.onset_s - 1.0
        told[0, place] = float(any(word in _OPENERS for word in words[:3]))
        told[1, place] = np.log(0.1 + min(_LONG_PAUSE_S, max(0.0, piece.onset_s - before)))
        told[2, place] = float(any(word in _TO_PARTNER for word in words))
        told[3, place] = of_step[0, place - 1].max() if place else 0.0
        told[4, place] = float(len(words) <= 2)
        told[5, place] = float(all(word in _ASIDES or word in _TO_PARTNER for word in words))
    return told
