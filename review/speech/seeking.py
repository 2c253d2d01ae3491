"""Words sought in texts: letters small or capital, with or without accents, numbers and numerals alike."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from functools import lru_cache
from typing import Final

from review.speech.spelling import spoken_words

WHOLE: Final = 3
"""Letters from which the beginning of a word is enough; shorter words are sought whole."""

_WRITTEN: Final = re.compile(r"\S+")


def _tokens(text: str) -> list[tuple[str, int, int]]:
    """Return each spoken word of a text with where the written one stands that it is part of."""
    found: list[tuple[str, int, int]] = []
    before = ""
    for written in _WRITTEN.finditer(text):
        for word in _spoken(written[0], before):
            found.append((word, written.start(), written.end()))
            before = word
    return found


@lru_cache(maxsize=8192)
def _spoken(written: str, before: str) -> tuple[str, ...]:
    return spoken_words(_folded(written), before)


def _folded(text: str) -> str:
    return "".join(one for one in unicodedata.normalize("NFKD", text) if not unicodedata.combining(one))


def asked_words(wanted: str) -> tuple[str, ...]:
    """Return what is sought as spoken words, each once.

    Examples
    --------
    >>> asked_words("CN VII"), asked_words("Caf\u00e9 2+")
    (('c', 'n', 'seven'), ('cafe', 'two', 'plus'))
    """
    return tuple(dict.fromkeys(word for word, _, _ in _tokens(wanted)))


def searchable(text: str) -> str:
    """Return a text as it is searched: its spoken words, a blank before and behind each."""
    return f" {' '.join(word for word, _, _ in _tokens(text))} "


def _needle(word: str) -> str:
    return f" {word}" if len(word) >= WHOLE else f" {word} "


def groups(texts: Sequence[str], asked: Sequence[str]) -> list[tuple[int, ...]]:
    """Return which texts hold all words that are asked for, alone or together with the text behind them.

    Parameters
    ----------
    texts
        As `searchable` gives them, in the order in which they are said.
    asked
        As `asked_words` gives them; none find nothing.

    Examples
    --------
    >>> said = [searchable(one) for one in ("Close your eyes.", "No sway,", "Romberg negative.")]
    >>> [groups(said, asked_words(wanted)) for wanted in ("eyes", "romb sway", "eyes romb")]
    [[(0,)], [(1, 2)], []]
    """
    needles = [_needle(word) for word in asked]
    if not needles:
        return []
    held = [frozenset(one for one in needles if one in text) for text in texts]
    whole = frozenset(needles)
    found: list[tuple[int, ...]] = []
    for at, here in enumerate(held):
        following = held[at + 1] if at + 1 < len(held) else frozenset()
        if here == whole:
            found.append((at,))
        elif here and following != whole and here | following == whole:
            found.append((at, at + 1))
    return found


def places(text: str, asked: Sequence[str]) -> list[list[int]]:
    """Return where the written words of a text begin and end that were asked for.

    Examples
    --------
    >>> places("Achilles 2+ on the right", asked_words("two achil"))
    [[0, 8], [9, 11]]
    """
    needles = [_needle(word) for word in asked]
    found = {(start, end) for word, start, end in _tokens(text) if any(one in f" {word} " for one in needles)}
    return [list(one) for one in sorted(found)]
