"""Words that are never guessed: sides, grades and numbers, and whether something is or is not."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from functools import lru_cache
from itertools import pairwise
from typing import Final

from review.domain.model import Side
from review.speech.pronunciation import ways
from review.speech.sounds import codes, cost
from review.speech.spelling import ORDINALS, TENS, TENTHS, UNITS, Token

SIDES: Final[tuple[Side, ...]] = ("left", "right")
NUMBERS: Final = frozenset({*UNITS, *TENS[2:], *TENTHS, *ORDINALS})
DENIALS: Final = frozenset(
    {"no", "not", "never", "none", "without", "neither", "nor", "cannot", "can't", "isn't", "aren't", "wasn't"}
    | {"doesn't", "don't", "didn't", "won't", "lacks", "lack"}
)

OPPOSITES: Final = tuple(
    frozenset(group.split())
    for group in (
        *("negative positive", "present absent missing", "equal unequal", "intact impaired lost reduced diminished"),
        *("normal abnormal", "symmetric asymmetric", "symmetrical asymmetrical", "symmetrically asymmetrically"),
        *("strong weak", "steady unsteady", "full restricted limited incomplete", "increased decreased reduced"),
        *(
            "open closed shut",
            "reactive unreactive nonreactive",
            "reacts fails",
            "clear hoarse unclear",
            "same different",
        ),
        *("corrected uncorrected", "plus minus", "greater less lesser", "louder quieter", "brisk sluggish absent"),
        *("clean dirty", "freely poorly", "direct indirect", "easily poorly", "closes open opens", "passed failed"),
    )
)
"""Words of which one must not be taken for another."""

_GUARDED: Final = frozenset(word for group in OPPOSITES for word in group)
EXACT: Final = NUMBERS | DENIALS | _GUARDED | set(SIDES)
"""Every word that must have been heard as it is."""

STRAYS: Final = frozenset({"a", "an", "un", "in", "on", "and", "am", "ab", "im"})
"""What the beginning of "unequal" or "abnormal" may be written down as."""

_ALIKE: Final = 0.3
_RIVAL: Final = 0.45
"""Mean cost of a sound up to which a word sounds like another one, and below which it may have been its opposite."""

HARDLY: Final = 0.3
"""Confidence below which a side may have been the other one, and a denial none: "right" became "left" in noise."""

_REACH: Final = 5
_TURNS: Final = {"all", "quite"}
_CORRECTIONS: Final = {"no", "sorry", "mean", "rather", "correction"}
_TAKEN_BACK_S: Final = 1.2
_TAKES_BACK: Final = (
    ("no",),
    ("sorry",),
    ("rather",),
    ("correction",),
    ("i", "mean"),
    ("no", "sorry"),
    ("make", "that"),
)
_FILLERS: Final = frozenset({"uh", "um", "uhm", "er", "erm", "hm", "hmm", "mm", "mhm", "like"})
_BEGINS: Final = {"and", "now", "next", "same", "then"}
_SMALL: Final = {"i", "i'm", "on", "the", "it's", "um", "uh", "er", "a", "side"}
_FILLED: Final = {"here", "there", "now", "then", "away", "so", "okay", "ok"}


@lru_cache(maxsize=5000)
def same_word(one: str, other: str) -> bool:
    """Tell whether two words are the same or sound exactly alike, as "two" and "too" do."""
    return one == other or bool(set(ways(one)) & set(ways(other)))


def _rivals(word: str) -> set[str]:
    """Return the words that say otherwise than a word."""
    return {rival for group in OPPOSITES if word in group for rival in group - {word}}


@lru_cache(maxsize=500)
def turned_by_prefix(word: str) -> bool:
    """Tell whether a beginning such as "un" turns a word into its opposite."""
    return any(rival.endswith(word) for rival in _rivals(word))


@lru_cache(maxsize=5000)
def same_grade(word: str, heard: str) -> bool:
    """Tell whether a word such as "full" was heard as one that sounds much like it, and like none that says otherwise.

    Sides, numbers and denials are never taken so, nor words that a small beginning turns round.

    Examples
    --------
    >>> same_grade("full", "fill"), same_grade("equal", "sequel"), same_grade("two", "too")
    (True, False, False)
    """
    if word not in _GUARDED or word in NUMBERS or word in DENIALS or word in SIDES or turned_by_prefix(word):
        return False
    if heard in EXACT or any(_unlike(rival, heard) < _RIVAL for rival in _rivals(word)):
        return False
    return _unlike(word, heard) <= _ALIKE


def _unlike(word: str, heard: str) -> float:
    """Return the mean cost of a sound of a word for which another was heard from end to end."""
    return min(cost(codes(one), codes(other)) / len(one) for one in ways(word) for other in ways(heard))


def others(word: str, heard: Collection[str]) -> list[str]:
    """Return the words that would turn a finding into another one in the place of `word`, of those that were heard."""
    if word in SIDES:
        return [side for side in SIDES if side != word]
    if word in NUMBERS:
        return sorted(NUMBERS & set(heard) - {word})
    return sorted(_rivals(word) & set(heard))


def meant(heard: Sequence[Token], spoken: Collection[str]) -> list[Token]:
    """Return what somebody meant to say: without fillers, and without a number that was taken back at once.

    Parameters
    ----------
    heard
        All words.
    spoken
        Words that belong to what is listened for: none of them is a filler.

    Examples
    --------
    >>> said = "biceps um three plus no two plus".split()
    >>> words = [Token(word, 0.4 * place, 0.4 * place + 0.3, 0.9, False) for place, word in enumerate(said)]
    >>> [token.text for token in meant(words, {"biceps"})]
    ['biceps', 'two', 'plus']
    """
    kept = list(_without_fillers(heard, spoken))
    found: list[Token] = []
    place = 0
    while place < len(kept):
        again = _said_again(kept, place) if kept[place].text in NUMBERS else None
        if again is None:
            found.append(kept[place])
        place = again or place + 1
    return found


def _without_fillers(heard: Sequence[Token], spoken: Collection[str]) -> Iterator[Token]:
    place = 0
    while place < len(heard):
        token, after = heard[place], heard[place + 1].text if place + 1 < len(heard) else ""
        if token.text == "you" and after == "know" and "know" not in spoken:
            place += 1
        elif token.text in spoken or token.text not in _FILLERS:
            yield token
        place += 1


def _said_again(heard: Sequence[Token], place: int) -> int | None:
    """Return where the number stands that somebody says instead of the one at a place; None where it stays."""
    back = place + 1 + (place + 1 < len(heard) and heard[place + 1].text == "plus")
    for words in _TAKES_BACK:
        stop = back + len(words)
        if stop < len(heard) and tuple(token.text for token in heard[back:stop]) == words:
            near = heard[stop].onset_s - heard[place].offset_s <= _TAKEN_BACK_S * (stop - place)
            if near and heard[stop].text in NUMBERS:
                return stop
    return None


def denied(before: Iterable[Token], inside: Iterable[Token], phrase: Collection[str]) -> bool:
    """Tell whether something within or right before a phrase turns it round.

    Parameters
    ----------
    before
        The last two words of the same clause before it.
    inside
        What was heard for it.
    phrase
        Its own words.
    """
    own = set(phrase)
    if any(token.text in DENIALS and token.text not in own for token in inside):
        return True
    if own & DENIALS:
        return False
    return any(token.text in DENIALS for token in before)


def perhaps_taken_back(heard: Sequence[Token], first: int, last: int) -> bool:
    """Tell whether a "no" by a phrase stands between two sides: it takes the first back, or denies what is said next.

    Parameters are those of `side_said`.

    Examples
    --------
    >>> said = "on the right no left nostril is open".split()
    >>> words = [Token(word, 0.4 * place, 0.4 * place + 0.3, 0.9, False) for place, word in enumerate(said)]
    >>> perhaps_taken_back(words, 4, 7)
    True
    """
    for place in range(max(1, first - 2), last):
        if heard[place].text == "no" and (side := heard[place - 1].text) in SIDES:
            after = [token.text for token in heard[place + 1 : place + 4]]
            if any(other in after for other in SIDES if other != side):
                return True
    return False


def side_said(heard: list[Token], first: int, last: int) -> Side | None:
    """Return the side that is said in a phrase or close to it in the same clause; None if none, or both.

    Of two sides the later counts if it corrects the one before: "on the left, no, right".

    Parameters
    ----------
    heard
        All words.
    first, last
        Place of the phrase's first and last word.
    """
    start = first
    while start > max(0, first - _REACH) and not _apart(heard[start - 1], heard[start]):
        start -= 1
    stop = last
    while stop < min(len(heard) - 1, last + _REACH) and _goes_on(heard, last, stop + 1):
        stop += 1
    said = [(place, side) for place in range(start, stop + 1) if (side := _side_at(heard, place)) is not None]
    if not said and first and (side := _side_at(heard, first - 1)) is not None:
        said = [(first - 1, side)]  # "left, patellar two plus"
    found = {_corrected(heard, place) or side for place, side in said}
    return found.pop() if len(found) == 1 else None


def _goes_on(heard: list[Token], last: int, place: int) -> bool:
    """Tell whether a word belongs to what is said of a phrase; "and the left foot" behind it begins the next one."""
    between = range(last + 1, place)
    other = heard[place].text in _BEGINS and not any(_side_at(heard, at) for at in between)
    return not other and not _apart(heard[place - 1], heard[place])


def _corrected(heard: list[Token], place: int) -> Side | None:
    """Return the side that somebody says instead, with nothing between but small words, one of which takes back."""
    taken_back = False
    for before, token in pairwise(heard[place : place + _REACH + 2]):
        if token.onset_s - before.offset_s > _TAKEN_BACK_S:
            return None
        taken_back = taken_back or token.text in _CORRECTIONS
        if token.text not in _CORRECTIONS | _SMALL:
            return next((side for side in SIDES if taken_back and side == token.text), None)
    return None


def _apart(one: Token, other: Token) -> bool:
    return one.ends or other.onset_s - one.offset_s > 0.8


def _side_at(heard: list[Token], place: int) -> Side | None:
    """Return the side that a word says; "all right", "Right, ..." and "left out" say none, nor what may be another."""
    if heard[place].confidence < HARDLY:
        return None
    word = heard[place].text
    before = heard[place - 1].text if place else ""
    follows = place + 1 < len(heard) and not _apart(heard[place], heard[place + 1])
    after = heard[place + 1].text if follows else ""
    opens = heard[place].ends and (place == 0 or heard[place - 1].ends)
    if word == "right" and before not in _TURNS and after not in _FILLED and not opens:
        return "right"
    if word == "left" and after not in {"out", "off"}:
        return "left"
    return None
