"""Findings of a sheet spotted in what was said: by how they sound, and never guessing side, grade or negation."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby, pairwise, product
from typing import Final

import numpy as np

from review.domain.model import Interval
from review.domain.phrases import Run, Slot
from review.domain.spoken import LEAST, SURE, Heard, Hit
from review.domain.transcript import Word
from review.speech.exact import (
    DENIALS,
    EXACT,
    HARDLY,
    SIDES,
    STRAYS,
    denied,
    meant,
    others,
    perhaps_taken_back,
    same_grade,
    same_word,
    side_said,
    turned_by_prefix,
)
from review.speech.pronunciation import rare, ways
from review.speech.sounds import PAUSE, Codes, aligned, codes, ends
from review.speech.spelling import Token, number_words, spoken_words, tokens

_PAUSE_S: Final = 1.5
_CONTENT: Final = 0.55
"""Mean cost of a sound of a word with meaning, above which it was another word."""

_DOUBTED: Final = 0.25
"""How much more that may cost for a word that the recogniser doubts wholly."""

NEARLY: Final = 0.75
"""Most confidence in a finding of which an exact word was only nearly heard: it counts as heard, and not as sure."""

_BARE: Final = 0.62
"""Cost of a sound of a phrase in talk that has nothing to do with it; a phrase that costs so much has confidence 0."""

_LOOSE: Final = frozenset(
    {
        "is",
        "are",
        "was",
        "were",
        "the",
        "a",
        "an",
        "and",
        "of",
        "to",
        "at",
        "in",
        "on",
        "for",
        "with",
        "it",
        "i",
        "it's",
    }
    | {"my", "your", "there", "that", "this", "has", "have"}
)
"""Small words that are often lost."""

_BENT: Final = (0.5, 0.85)
"""Confidence of the recogniser in what sounds otherwise than a phrase, from where on the phrase may be bent ever less
to be found there, and from where on only what sounds surely like it counts."""

_LENIENT: Final = 0.1
"""How much less alike the words with meaning may sound where the recogniser doubts wholly what it wrote, or where they
are words of the trade."""

_LEADS: Final = {("on", "to"), ("next", "is"), ("next", "comes"), ("next", "up")}
_AT_ONCE_S: Final = 0.3
"""What leads to the name of the next step, and the pause below which that is still its name."""

_BATCH: Final = 48
_MOST_WAYS: Final = 4
_BETTER: Final = 0.02


@dataclass(frozen=True, slots=True)
class _Pattern:
    """One way in which a phrase can be said: its words, what it says if heard, and which word each sound is of."""

    step_id: str | None
    words: tuple[str, ...]
    heard: Heard
    value: str
    sounds: tuple[int, ...]
    of_word: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class _Found:
    """A pattern found in the words from `first` to `last`; a pattern of no step is something else that was said."""

    step_id: str | None
    hit: Hit | None
    first: int
    last: int
    confidence: float


def spot(words: Iterable[Word], findings: Mapping[str, Sequence[Run]], besides: Iterable[str] = ()) -> tuple[Hit, ...]:
    """Find the findings of a sheet in what was said.

    Parameters
    ----------
    words
        The transcript.
    findings
        By step, the runs of words any of which states its finding.
    besides
        What else is said and not to be taken for a finding, such as the announcement of a step.

    Returns
    -------
    tuple of Hit
        By onset. Where phrases of several steps sound alike, each has its hit: the seconds of the steps decide.
    """
    listed = {
        word
        for found in findings.values()
        for run in found
        for part in run
        if isinstance(part, str)
        for word in _split(part)
    }
    heard = meant(list(tokens(words)), listed)
    if not heard:
        return ()
    known = {token.text for token in heard}
    patterns = [
        pattern for step_id, found in findings.items() for run in found for pattern in _patterns(step_id, run, known)
    ]
    patterns += [pattern for text in besides for pattern in _spoken_ways(None, _split(text), "said", "")]
    found = [one for pattern, end, score in _scored(patterns, heard) for one in _judged(pattern, end, score, heard)]
    return tuple(sorted(_best(found), key=lambda hit: (hit.interval, hit.step_id)))


def _split(text: str) -> tuple[str, ...]:
    said: list[str] = []
    for word in text.split():
        said += spoken_words(word, said[-1] if said else "")
    return tuple(said)


def _patterns(step_id: str, run: Run, known: set[str]) -> Iterator[_Pattern]:
    """Yield what a run of words can sound like, with every value that was said in its slots."""
    for values in product(*(_fillings(part, known) for part in run)):
        words: list[str] = []
        for filling in values:
            for word in filling.words:
                words += spoken_words(word, words[-1] if words else "")
        value = " ".join(filling.value for filling in values if filling.value)
        other = any(filling.other for filling in values)
        said = tuple(words)
        yield from _spoken_ways(step_id, said, "other" if other else "said", value)
        if not other:
            for place, word in enumerate(said):
                for rival in others(word, known) if not _in_slot(place, values) else ():
                    changed = (*said[:place], rival, *said[place + 1 :])
                    yield from _spoken_ways(step_id, changed, "other", rival)


@dataclass(frozen=True, slots=True)
class _Filling:
    words: tuple[str, ...]
    value: str = ""
    other: bool = False
    slot: bool = False


def _fillings(part: str | Slot, known: set[str]) -> list[_Filling]:
    if isinstance(part, str):
        return [_Filling((part,))]
    said: dict[str, tuple[str, ...]]
    if part.kind == "side":
        said = {side: (side,) for side in SIDES if side in known}
    else:
        most = 5 if part.kind == "grade" else 100
        said = {str(number): number_words(number) for number in range(most) if set(number_words(number)) <= known}
    if part.expected is not None:
        said |= {part.expected: (part.expected,) if part.kind == "side" else number_words(int(part.expected))}
    return [
        _Filling(words, value, part.expected not in (None, value), slot=True) for value, words in sorted(said.items())
    ]


def _in_slot(place: int, fillings: Sequence[_Filling]) -> bool:
    lengths = [(len(filling.words), filling.slot) for filling in fillings]
    for length, slot in lengths:
        if place < length:
            return slot
        place -= length
    return False


def _spoken_ways(step_id: str | None, words: tuple[str, ...], heard: Heard, value: str) -> Iterator[_Pattern]:
    said: list[tuple[tuple[int, ...], tuple[int, ...]]] = [((), ())]
    for place, word in enumerate(words):
        said = [
            ((*sounds, *way), (*of_word, *([place] * len(way))))
            for sounds, of_word in said
            for way in map(codes, ways(word))
        ][:_MOST_WAYS]
    for sounds, of_word in said:
        yield _Pattern(step_id, words, heard, value, sounds, of_word)


@lru_cache(maxsize=4)
def _heard_sounds(heard: tuple[Token, ...]) -> tuple[Codes, Codes]:
    """Return the sounds of what was heard, and which word each is of."""
    sounds: list[int] = []
    of_token: list[int] = []
    for place, token in enumerate(heard):
        if place and token.onset_s - heard[place - 1].offset_s > _PAUSE_S:
            sounds += [PAUSE, PAUSE]
            of_token += [place, place]
        said = codes(ways(token.text)[0])
        sounds += said
        of_token += [place] * len(said)
    return np.array(sounds, np.intp), np.array(of_token, np.intp)


def _scored(patterns: Sequence[_Pattern], heard: Sequence[Token]) -> Iterator[tuple[_Pattern, int, float]]:
    """Yield each pattern with the sounds at which it may end and its confidence there."""
    sounds, _ = _heard_sounds(tuple(heard))
    for length, group in groupby(sorted(patterns, key=lambda one: len(one.sounds)), key=lambda one: len(one.sounds)):
        same = list(group)
        for start in range(0, len(same), _BATCH):
            batch = same[start : start + _BATCH]
            costs = ends(np.array([pattern.sounds for pattern in batch], np.intp), sounds)
            scores = 1 - costs / np.float32(length * _BARE)
            for pattern, row in zip(batch, scores, strict=True):
                yield from ((pattern, end, float(row[end])) for end in _peaks(row, length))


def _peaks(scores: np.ndarray, length: int) -> Iterator[int]:
    """Yield where the confidence is greatest within half a phrase, and great enough."""
    left = np.flatnonzero(scores >= LEAST)
    while len(left):
        best = int(left[np.argmax(scores[left])])
        yield best
        left = left[np.abs(left - best) > length // 2]


def _judged(pattern: _Pattern, end: int, score: float, heard: list[Token]) -> Iterator[_Found]:
    sounds, of_token = _heard_sounds(tuple(heard))
    start, costs, places = aligned(pattern.sounds, sounds, end)
    first, last = int(of_token[min(start, len(of_token) - 1)]), int(of_token[end])
    inside = heard[first : last + 1]
    meaning, lost = _meaning(pattern, costs), _rare(pattern, costs)
    sure = _sure_of_others(costs, places, of_token, heard)
    if meaning < LEAST - _LENIENT * max(lost / max(sum(costs), 1e-9), 1 - sure / _BENT[0]):
        return
    score = max(LEAST, min(score, meaning))
    if score + lost / (_BARE * len(pattern.sounds)) < _needed(sure):
        return
    judged = _words_judged(pattern, costs, places, of_token, heard)
    if judged is None:
        return
    score = min(score, judged or score)
    if pattern.step_id is None:
        yield _Found(None, None, first, last, score)
        return
    turned = denied(_before(heard, first), inside, pattern.words)
    doubtful = not judged or (turned and _perhaps_not_turned(pattern, places, of_token, heard, first, last))
    doubtful = doubtful or _announced(heard, first)
    said: Heard = "unclear" if doubtful else _turned(pattern.heard) if turned else pattern.heard
    hit = Hit(
        pattern.step_id,
        said,
        Interval(max(0.0, inside[0].onset_s), max(inside[-1].offset_s, inside[0].onset_s, 0.0)),
        round(min(1.0, score), 3),
        " ".join(token.text for token in inside),
        side_said(heard, first, last),
        "" if doubtful else pattern.value,
    )
    yield _Found(pattern.step_id, hit, first, last, score)


def _announced(heard: Sequence[Token], first: int) -> bool:
    """Tell whether what begins there is the name of what comes next: "moving on to reflexes in summary"."""
    for stop in (first + 1, first, first - 1):
        if stop >= 2 and (heard[stop - 2].text, heard[stop - 1].text) in _LEADS:
            said = heard[stop - 1 : first + 1]
            return all(after.onset_s - one.offset_s < _AT_ONCE_S and not one.ends for one, after in pairwise(said))
    return False


def _perhaps_not_turned(
    pattern: _Pattern, places: Sequence[int], of_token: Codes, heard: list[Token], first: int, last: int
) -> bool:
    """Tell whether what denies may be none: hardly heard, a side taken back, or a part of a word written as several.

    "stay or no mastoid" is how "sternomastoid" was written down once.
    """
    said = (*_before(heard, first), *heard[first : last + 1])
    surest = max((token.confidence for token in said if token.text in DENIALS), default=1.0)
    if surest < HARDLY or perhaps_taken_back(heard, first, last):
        return True
    taken: dict[int, list[int]] = {}
    for place, word in zip(places, pattern.of_word, strict=True):
        if place >= 0:
            taken.setdefault(word, []).append(int(of_token[place]))
    return any(
        heard[token].text in DENIALS and len(set(spans)) > 1 and pattern.words[word] not in EXACT | _LOOSE
        for word, spans in taken.items()
        for token in spans
    )


def _sure_of_others(costs: Sequence[float], places: Sequence[int], of_token: Codes, heard: Sequence[Token]) -> float:
    """Return how sure the recogniser was of what sounds otherwise than the phrase, by how much it does."""
    total, doubted, at = 0.0, 0.0, next((place for place in places if place >= 0), 0)
    for cost, place in zip(costs, places, strict=True):
        at = place if place >= 0 else at
        total += cost
        doubted += cost * heard[int(of_token[at])].confidence
    return doubted / total if total else 0.0


def _needed(sure: float) -> float:
    """Return how alike a phrase must sound: where the recogniser is sure of other words, that is what was said."""
    share = (sure - _BENT[0]) / (_BENT[1] - _BENT[0])
    return LEAST + (SURE - LEAST) * min(1.0, max(0.0, share))


def _rare(pattern: _Pattern, costs: Sequence[float]) -> float:
    """Return what the words of the trade cost, which are often written as several others, and without a doubt."""
    return sum(cost for cost, place in zip(costs, pattern.of_word, strict=True) if rare(pattern.words[place]))


def _meaning(pattern: _Pattern, costs: Sequence[float]) -> float:
    """Return the confidence in the words with meaning alone; exact words, right anyway, lend them none."""
    telling = [
        cost
        for cost, place in zip(costs, pattern.of_word, strict=True)
        if pattern.words[place] not in EXACT and pattern.words[place] not in _LOOSE
    ]
    return 1 - sum(telling) / (_BARE * len(telling)) if telling else 1.0


def _turned(heard: Heard) -> Heard:
    """Return what a finding says that is denied: another value; another value that is denied tells nothing certain."""
    return "other" if heard == "said" else "unclear"


def _words_judged(
    pattern: _Pattern, costs: Sequence[float], places: Sequence[int], of_token: Codes, heard: Sequence[Token]
) -> float | None:
    """Return how sure the words of a phrase let one be; None if a word with meaning was another one.

    That is 1 if all exact words were heard as they are, less if one sounds much like it and like nothing that says
    otherwise, and 0 if it cannot be told.
    """
    most = 1.0
    for place, word in enumerate(pattern.words):
        mine = [number for number, of_word in enumerate(pattern.of_word) if of_word == place]
        spans = [int(of_token[places[number]]) for number in mine if places[number] >= 0]
        token = max(set(spans), key=spans.count) if spans else None
        if word in EXACT:
            most = min(most, 0.0 if token is None else _exactly(word, pattern, token, heard))
            if token is not None and heard[token].text in EXACT and not same_word(word, heard[token].text):
                return None
        elif word not in _LOOSE and sum(costs[number] for number in mine) / len(mine) > _content(spans, heard):
            return None
    return most


def _exactly(word: str, pattern: _Pattern, token: int, heard: Sequence[Token]) -> float:
    said = heard[token].text
    if same_word(word, said):
        return 0.0 if _prefixed(word, pattern, token, heard) else 1.0
    doubted = heard[token].confidence < _BENT[1]
    return NEARLY if doubted and pattern.heard == "said" and same_grade(word, said) else 0.0


def _content(spans: Sequence[int], heard: Sequence[Token]) -> float:
    """Return the greatest mean cost of a word with meaning; more where the recogniser itself doubts what it wrote."""
    sure = min((heard[token].confidence for token in spans), default=1.0)
    return _CONTENT + _DOUBTED * max(0.0, 1 - sure / _BENT[0])


def _prefixed(word: str, pattern: _Pattern, token: int, heard: Sequence[Token]) -> bool:
    """Tell whether a stray small word stands before an exact one: "an equal" may have been "unequal"."""
    before = heard[token - 1].text if token else ""
    return turned_by_prefix(word) and before in STRAYS and before not in pattern.words


def _before(heard: Sequence[Token], first: int) -> list[Token]:
    found: list[Token] = []
    for place in range(first - 1, max(-1, first - 3), -1):
        if heard[place].ends or heard[place + 1].onset_s - heard[place].offset_s > 0.8:
            break
        found.append(heard[place])
    return found


def _best(found: Sequence[_Found]) -> Iterator[Hit]:
    """Yield the hits that nothing better stands in the place of."""
    order = sorted(found, key=lambda one: (-_worth(one), one.first, one.step_id or ""))
    kept: list[_Found] = []
    for one in order:
        rivals = [other for other in kept if _overlap(one, other)]
        if any(other.step_id == one.step_id or _worth(other) > _worth(one) + _BETTER for other in rivals):
            continue
        kept.append(one)
    yield from (one.hit for one in kept if one.hit is not None)


def _worth(one: _Found) -> float:
    """Rank by confidence; longer phrases a little higher, other values a little lower, unclear ones below all clear."""
    less = {"said": 0.0, "other": 0.002, "unclear": 0.5}
    return one.confidence + 0.004 * (one.last - one.first) - (less[one.hit.heard] if one.hit is not None else 0.0)


def _overlap(one: _Found, other: _Found) -> bool:
    if other.step_id is None and one.step_id is not None and other.first >= one.first and other.last < one.last:
        return False  # an announcement that is but a part of a finding
    shared = min(one.last, other.last) - max(one.first, other.first) + 1
    return shared > 0.35 * min(one.last - one.first + 1, other.last - other.first + 1)
