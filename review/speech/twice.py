"""Findings in what was heard twice: plainly, and again where that was doubtful, with the sheet's phrases in mind.

Who has read what may be said hears it more easily, and also where it was not said. So a finding of the second listening
counts only where the recogniser finds its words likely without having read them, where nothing clear was heard at
first, and where whatever is never guessed was heard at first as well.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from math import log
from typing import Final

from review.domain.model import Interval
from review.domain.phrases import Run
from review.domain.spoken import Hit
from review.domain.transcript import Word
from review.speech.exact import DENIALS, EXACT, SIDES, same_word, side_said
from review.speech.phrases import NEARLY, spot
from review.speech.spelling import Token, tokens

_WEAK: Final = 0.7
"""Confidence in a finding of the first listening below which the second one must have heard it as well."""

_ALIKE: Final = 0.75
"""Least confidence in the likeness of what was heard at the second listening and a phrase."""

_LIKELY: Final = -1.65
"""Least mean logarithm of the confidence of its words, half of that of the words heard at first taken off."""

_SURELY: Final = 0.75
"""Least confidence in a grade, a number or an opposite that was not heard at first."""

_SLACK_S: Final = 0.15
"""How far the middle of a word that was heard at first in its place may lie beside a finding."""

_BESIDE_S: Final = 0.5
"""How far beside a finding a word may lie that is heard as well: two listenings tell times that differ."""


def spot_twice(
    words: Iterable[Word], again: Iterable[Word], findings: Mapping[str, Sequence[Run]], besides: Iterable[str] = ()
) -> tuple[Hit, ...]:
    """Find the findings of a sheet in what was heard twice.

    Parameters
    ----------
    words, again
        The transcripts of both listenings.
    findings, besides
        As for `review.speech.phrases.spot`.

    Returns
    -------
    tuple of Hit
        By onset. What the second listening alone tells is never sure, and is told in the words of the first one.
    """
    words, again, besides = tuple(words), tuple(again), tuple(besides)
    heard, anew = list(tokens(words)), list(tokens(again))
    second = spot(again, findings, besides) if anew else ()
    found = [_unless_missed(hit, second, anew) for hit in spot(words, findings, besides)]
    more = [
        _told(hit, heard)
        for hit in second
        if hit.heard != "unclear" and not _clear_in(found, hit.interval) and _stands(hit, heard, anew)
    ]
    kept = [hit for hit in found if not any(_same(hit, other) for other in more)]
    return tuple(sorted((*kept, *more), key=lambda hit: (hit.interval, hit.step_id)))


def _unless_missed(hit: Hit, second: Iterable[Hit], anew: Sequence[Token]) -> Hit:
    """Return a finding of the first listening; as unclear if it was weak and who expected it heard something else."""
    if hit.confidence >= _WEAK or hit.heard == "unclear" or not any(_within(anew, hit.interval, 0.0)):
        return hit
    return hit if any(_same(hit, other) for other in second) else replace(hit, heard="unclear", value="")


def _clear_in(found: Iterable[Hit], seconds: Interval) -> bool:
    return any(hit.heard != "unclear" and _overlap(hit.interval, seconds) for hit in found)


def _same(hit: Hit, other: Hit) -> bool:
    return hit.step_id == other.step_id and _overlap(hit.interval, other.interval)


def _overlap(one: Interval, other: Interval) -> bool:
    return one.onset_s < other.offset_s and other.onset_s < one.offset_s


def _stands(hit: Hit, heard: Sequence[Token], anew: Sequence[Token]) -> bool:
    """Tell whether a finding of the second listening may be believed."""
    own = list(_within(anew, hit.interval, 0.0))
    if not own or hit.confidence < _ALIKE:
        return False
    instead = _likelihood(_within(heard, hit.interval, _SLACK_S))
    if _likelihood(own) - instead / 2 < _LIKELY * len(own):
        return False
    first = {token.text for token in _within(heard, hit.interval, _BESIDE_S)}
    near = list(_within(anew, hit.interval, _BESIDE_S))
    second = {token.text for token in near}
    exact = {token.text for token in near if (token in own and not _plain(token)) or token.text in DENIALS} & EXACT
    return _covered(exact, first) and _covered((first & EXACT) - set(SIDES), second)


def _plain(token: Token) -> bool:
    """Tell whether a word need not have been heard at first: neither side nor denial, and likely by itself."""
    return token.text not in DENIALS | set(SIDES) and token.confidence >= _SURELY


def _likelihood(said: Iterable[Token]) -> float:
    return sum(log(max(token.confidence, 1e-4)) for token in said)


def _covered(words: Iterable[str], by: Iterable[str]) -> bool:
    """Tell whether each of some words sounds just like one of others."""
    others = tuple(by)
    return all(any(same_word(word, other) for other in others) for word in words)


def _told(hit: Hit, heard: list[Token]) -> Hit:
    """Return a finding with the words and the side that were heard at first, and never as sure."""
    places = [place for place, token in enumerate(heard) if _inside(token, hit.interval, _SLACK_S)]
    words = " ".join(heard[place].text for place in places)
    side = side_said(heard, places[0], places[-1]) if places else None
    return replace(hit, confidence=min(hit.confidence, NEARLY), words=words or hit.words, side=side)


def _within(said: Iterable[Token], seconds: Interval, beside_s: float) -> Iterator[Token]:
    return (token for token in said if _inside(token, seconds, beside_s))


def _inside(token: Token, seconds: Interval, beside_s: float) -> bool:
    middle_s = (token.onset_s + token.offset_s) / 2
    return seconds.onset_s - beside_s < middle_s < seconds.offset_s + beside_s
