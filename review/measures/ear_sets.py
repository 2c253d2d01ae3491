"""Whether the two ears were whispered different sets of numbers and letters, by the words that were heard.

A verdict in words, not a number. Who said a set, whisperer or partner, is not told: the partner's answer serves as
well.

References
----------
That each ear is given its own set: Pirozzo S, Papinczak T, Glasziou P (2003), BMJ 327:967 (as summarised in teaching
texts). Which characters sound alike: common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise, product
from typing import Final, Literal

from review.domain.entries.whisper import SET
from review.domain.transcript import Word

Verdict = Literal["different", "same", "unclear"]

LEAST_SURE: Final = 0.5
"""Confidence of a word from which its characters are sure."""

_PAUSE_S: Final = 2.5
_NUMBERS: Final = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_WRITTEN: Final = {word: str(number) for number, word in enumerate(_NUMBERS)}
_GUESSED: Final = {
    **{"to": "2", "too": "2", "for": "4", "won": "1", "ate": "8", "oh": "0", "a": "A", "i": "I", "be": "B", "bee": "B"},
    **{"see": "C", "sea": "C", "dee": "D", "gee": "G", "jay": "J", "kay": "K", "el": "L", "em": "M", "en": "N"},
    **{"pee": "P", "cue": "Q", "queue": "Q", "are": "R", "ess": "S", "tea": "T", "tee": "T", "you": "U", "vee": "V"},
    **{"ex": "X", "why": "Y", "zee": "Z", "zed": "Z"},
}
"""Words that sound like a character and mean something else as a rule."""

_ALIKE: Final = ("BCDEGPTVZ3", "AHJK8", "FSX", "MN", "IY59", "QUW2", "O04")
"""Characters that are easily taken for one another."""


@dataclass(frozen=True, slots=True)
class Characters:
    """A set of characters that was heard, such as "4 K 2"; `sure` tells whether each is."""

    text: str
    sure: bool


@dataclass(frozen=True, slots=True)
class EarSets:
    """What was heard of the sets for both ears, each set once, in order."""

    verdict: Verdict
    right: tuple[str, ...]
    left: tuple[str, ...]


def ear_sets(right: Iterable[Word], left: Iterable[Word]) -> EarSets:
    """Tell whether any set was heard for both ears.

    It is the same when three sure characters are; different when no set of one ear could be one of the other's, each
    character taken for one that sounds alike and one at either end lost; unclear otherwise, or where an ear has no set.

    Parameters
    ----------
    right, left
        What was said in the seconds of the own right and left ear.
    """
    heard = [sets_in(words) for words in (right, left)]
    told = [tuple(dict.fromkeys(one.text for one in sets)) for sets in heard]
    return EarSets(_verdict(*heard), told[0], told[1])


def _verdict(right: Sequence[Characters], left: Sequence[Characters]) -> Verdict:
    pairs = list(product(right, left))
    if any(one.text == other.text and one.sure and other.sure for one, other in pairs):
        return "same"
    if not pairs or any(_alike(one.text, other.text) for one, other in pairs):
        return "unclear"
    return "different"


def _alike(one: str, other: str) -> bool:
    """Tell whether two sets may be the same, misheard: alike in each place, or two neighbours of one in the other."""
    first, second = one.split(), other.split()
    if all(map(_rhyme, first, second)):
        return True
    return any(all(map(_rhyme, *pairs)) for pairs in product(pairwise(first), pairwise(second)))


def _rhyme(one: str, other: str) -> bool:
    return one == other or any(one in group and other in group for group in _ALIKE)


def sets_in(words: Iterable[Word]) -> tuple[Characters, ...]:
    """Return the sets of three characters among words, in order.

    A run of characters, none later than 2.5 s after the one before, is cut into sets if it has as many as whole sets
    have; words at its ends that mean something else as a rule, such as "for", are taken off first where that helps. A
    set may have such a word in its middle alone.

    Examples
    --------
    >>> heard = [Word("four", 1.0, 1.3, 0.9), Word("K", 2.0, 2.3, 0.8), Word("two.", 3.0, 3.4, 0.9)]
    >>> sets_in(heard)
    (Characters(text='4 K 2', sure=True),)
    """
    return tuple(found for run in _runs(words) for found in _cut(run))


Run = list[tuple[str, bool, bool]]
"""Characters in a row: the character, whether it was heard surely, whether it was written as one."""


def _runs(words: Iterable[Word]) -> list[Run]:
    runs: list[Run] = [[]]
    end_s = float("-inf")
    for word in words:
        found = _characters(word)
        if not found or word.onset_s - end_s > _PAUSE_S:
            runs.append([])
        runs[-1] += found
        end_s = word.offset_s
    return runs


def _characters(word: Word) -> Run:
    """Return the characters that a word is; none if it is another word."""
    parts = re.findall(r"[a-z]+|\d", word.text.lower().replace("'", ""))
    found: Run = []
    for part in parts:
        guessed = _GUESSED.get(part)
        written = _WRITTEN.get(part, part.upper() if len(part) == 1 else None) if guessed is None else None
        if guessed is None and written is None:
            return []
        plain = guessed is None
        found.append((str(guessed or written), plain and word.confidence >= LEAST_SURE, plain))
    return found


def _cut(run: Run) -> list[Characters]:
    while len(run) % SET and not run[0][2]:
        run = run[1:]
    while len(run) % SET and not run[-1][2]:
        run = run[:-1]
    if len(run) % SET:
        return []
    sets = [run[first : first + SET] for first in range(0, len(run), SET)]
    return [
        Characters(" ".join(one[0] for one in found), all(one[1] for one in found))
        for found in sets
        if found[0][2] and found[-1][2]
    ]
